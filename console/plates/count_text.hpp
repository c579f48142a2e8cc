#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include <fmt/format.h>

namespace stonecall::plates {

/// "1 sample", "4 samples".
inline std::string count(std::int64_t n, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", n, n == 1 ? one : many);
}

}  // namespace stonecall::plates
