#pragma once

#include <compare>
#include <cstdint>
#include <span>
#include <vector>

namespace stonecall::estimate {

/// A share that was spoken of a kind at a station where the same kind was also counted.
struct SpokenAndCounted {
  double spoken = 0;  ///< fraction: the caller's figure or the middle of his range
  double range = 0;   ///< high − low, fraction
  std::int64_t met = 0;
  std::int64_t counted = 0;  ///< ≥ 1
  double design_effect = 1;
  auto operator<=>(const SpokenAndCounted&) const = default;
};

/// Standard deviation of a spoken range (high − low, fraction), read as the middle 90 % of a
/// normal.
constexpr double sigma_of_range(double range) {
  return range / (2 * 1.645);
}

/// How a caller's spoken shares differ from the tallies. Fractions.
struct CallerRecord {
  std::int64_t pairs = 0;
  double bias = 0;        ///< spoken less counted, on average
  double bias_error = 0;  ///< standard deviation of what is known of it
  /// Scatter around the bias, the tallies' own error and the spoken range taken off.
  double spread = 0;

  /// What SpokenShare::spread is set to: scatter, and not knowing the bias for sure.
  double spread_with_bias_error() const;
};

/// Bias and spread from this caller's pairs. Each difference d = spoken − met/counted has variance
/// σ² + noise, noise being the tally's (by met and counted, times its design effect) plus
/// (range/(2·1.645))². Prior: σ² scaled-inverse-χ² with 4 degrees of freedom and mean
/// setting_spread² (the setting counts like four pairs), bias normal around 0 with standard
/// deviation setting_spread/2. The bias is integrated in closed form, σ over a grid that ends at 2
/// or beyond, since a caller may prove far worse than the setting hoped; spread is the root of the
/// expected σ², so that the variance of what this caller says next is right. No pairs: bias 0,
/// spread as set. setting_spread > 0, fraction (0.10: common practice, no source).
CallerRecord learn_caller(std::span<const SpokenAndCounted> pairs, double setting_spread = 0.10);

/// For each pair what the others say of the caller, to judge that pair by. Costs as much for each
/// however many there are.
std::vector<CallerRecord> learn_without_each(std::span<const SpokenAndCounted> pairs,
                                             double setting_spread = 0.10);

}  // namespace stonecall::estimate
