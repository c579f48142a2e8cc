#include "console/estimate/size_class.hpp"

#include <array>
#include <cmath>

namespace stonecall::estimate {
namespace {

constexpr std::array<SizeClass, 11> wentworth{{
    {"clay", 0, 1.0 / 256},
    {"silt", 1.0 / 256, 1.0 / 16},
    {"very fine sand", 1.0 / 16, 1.0 / 8},
    {"fine sand", 1.0 / 8, 1.0 / 4},
    {"medium sand", 1.0 / 4, 1.0 / 2},
    {"coarse sand", 1.0 / 2, 1},
    {"very coarse sand", 1, 2},
    {"granule", 2, 4},
    {"pebble", 4, 64},
    {"cobble", 64, 256},
    {"boulder", 256, std::nullopt},
}};

constexpr std::array<SizeClass, 13> iso_14688_1{{
    {"clay", 0, 0.002},
    {"fine silt", 0.002, 0.0063},
    {"medium silt", 0.0063, 0.02},
    {"coarse silt", 0.02, 0.063},
    {"fine sand", 0.063, 0.2},
    {"medium sand", 0.2, 0.63},
    {"coarse sand", 0.63, 2},
    {"fine gravel", 2, 6.3},
    {"medium gravel", 6.3, 20},
    {"coarse gravel", 20, 63},
    {"cobble", 63, 200},
    {"boulder", 200, 630},
    {"large boulder", 630, std::nullopt},
}};

constexpr std::array<RoundnessClass, 6> powers{{
    {"very angular", 0.12, 0.17},
    {"angular", 0.17, 0.25},
    {"subangular", 0.25, 0.35},
    {"subrounded", 0.35, 0.49},
    {"rounded", 0.49, 0.70},
    {"well rounded", 0.70, 1.00},
}};

}  // namespace

std::span<const SizeClass> size_classes(SizeScale scale) {
  if (scale == SizeScale::wentworth) return wentworth;
  return iso_14688_1;
}

std::optional<SizeClass> size_class(SizeScale scale, double diameter_mm) {
  if (!(diameter_mm > 0)) return std::nullopt;
  for (const auto& each : size_classes(scale)) {
    if (!each.upper_mm || diameter_mm < *each.upper_mm) return each;
  }
  return std::nullopt;
}

std::optional<double> phi(double diameter_mm) {
  if (!(diameter_mm > 0) || !std::isfinite(diameter_mm)) return std::nullopt;
  return -std::log2(diameter_mm);
}

std::span<const RoundnessClass> roundness_classes() {
  return powers;
}

std::optional<RoundnessClass> roundness_class(double roundness) {
  if (!(roundness >= powers.front().lower && roundness <= powers.back().upper)) return std::nullopt;
  for (const auto& each : powers) {
    if (roundness < each.upper) return each;
  }
  return powers.back();
}

}  // namespace stonecall::estimate
