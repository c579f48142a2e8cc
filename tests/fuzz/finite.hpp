#pragma once

#include <cmath>

#include "protocol/plan.hpp"

namespace stonecall::test {

/// Is every number in it one that can be shown?
inline bool finite(const protocol::Json& json) {
  if (json.is_number_float()) return std::isfinite(json.get<double>());
  for (const auto& each : json) {
    if (each.is_structured() || each.is_number_float()) {
      if (!finite(each)) return false;
    }
  }
  return true;
}

}  // namespace stonecall::test
