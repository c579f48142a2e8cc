#pragma once

#include <cstdlib>

namespace stonecall::test {

/// Ends the run, so that libFuzzer keeps the input, where something does not hold.
inline void require(bool holds) {
  if (!holds) std::abort();
}

}  // namespace stonecall::test
