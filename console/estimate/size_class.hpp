#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace stonecall::estimate {

enum class SizeScale {
  wentworth,   ///< Wentworth 1922, Journal of Geology 30:377-392
  iso_14688_1  ///< ISO 14688-1; from memory, not checked against the standard's text
};

/// A class holds its lower limit and not its upper one.
struct SizeClass {
  std::string_view name;
  double lower_mm = 0;
  std::optional<double> upper_mm;  ///< none: open
};

std::span<const SizeClass> size_classes(SizeScale scale);

/// Nothing for a diameter that is not a number above zero.
std::optional<SizeClass> size_class(SizeScale scale, double diameter_mm);

/// Krumbein's phi = −log2(diameter / 1 mm). Nothing for a diameter that is not a finite number
/// above zero.
std::optional<double> phi(double diameter_mm);

struct RoundnessClass {
  std::string_view name;
  double lower = 0;
  double upper = 1;
};

/// Powers 1953, Journal of Sedimentary Petrology 23:117-119, by Wadell roundness; from memory. A
/// class holds its lower limit; the last one its upper limit too.
std::span<const RoundnessClass> roundness_classes();

/// Nothing below 0.12, where the scale starts, or above 1.
std::optional<RoundnessClass> roundness_class(double roundness);

}  // namespace stonecall::estimate
