#include "console/estimate/caller.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <vector>

namespace stonecall::estimate {
namespace {

constexpr double setting_worth_pairs = 4;

double square(double x) {
  return x * x;
}

double noise_of(const SpokenAndCounted& pair) {
  const auto n = static_cast<double>(pair.counted);
  const double p = (static_cast<double>(pair.met) + 0.5) / (n + 1);  // never 0 or 1
  return p * (1 - p) * pair.design_effect / n + square(sigma_of_range(pair.range));
}

/// What the pairs say of one value of σ², the bias still to be integrated out.
struct Sums {
  double variance = 0;    ///< σ²
  double precision = 0;   ///< of the bias
  double weighted = 0;    ///< differences times their precisions
  double log_weight = 0;  ///< of this σ²

  void add(const SpokenAndCounted& pair, double times) {
    assert(pair.counted >= 1 && pair.met >= 0 && pair.met <= pair.counted);
    const double difference =
        pair.spoken - static_cast<double>(pair.met) / static_cast<double>(pair.counted);
    const double each = variance + noise_of(pair);
    precision += times / each;
    weighted += times * difference / each;
    log_weight -= times * (std::log(each) + square(difference) / each) / 2;
  }
};

using Grid = std::vector<Sums>;

Grid sums_over(std::span<const SpokenAndCounted> pairs, double setting_spread) {
  const double prior_scale = square(setting_spread) * (1 - 2 / setting_worth_pairs);
  // Shares are fractions: no scatter is larger than this, whatever the setting hoped for.
  constexpr double largest_spread = 2;
  const double steps_up = std::max(3.0, std::log(largest_spread / setting_spread));
  Grid grid;
  for (double step = -3; step <= steps_up; step += 0.05) {
    const double variance = square(setting_spread * std::exp(step));
    Sums sums{variance, 1 / square(setting_spread / 2), 0,
              -setting_worth_pairs / 2 * (std::log(variance) + prior_scale / variance)};
    for (const auto& pair : pairs) sums.add(pair, 1);
    grid.push_back(sums);
  }
  return grid;
}

CallerRecord record_of(const Grid& grid, std::size_t pairs, double setting_spread) {
  CallerRecord record;
  record.pairs = static_cast<std::int64_t>(pairs);
  if (pairs == 0) {
    record.bias_error = setting_spread / 2;
    record.spread = setting_spread;
    return record;
  }
  const auto log_weight = [](const Sums& at) {
    return at.log_weight + (square(at.weighted) / at.precision - std::log(at.precision)) / 2;
  };
  double best = -std::numeric_limits<double>::infinity();
  for (const Sums& at : grid) best = std::max(best, log_weight(at));
  double total = 0, bias = 0, bias_square = 0, variance = 0;
  for (const Sums& at : grid) {
    const double weight = std::exp(log_weight(at) - best);
    const double bias_here = at.weighted / at.precision;
    total += weight;
    bias += weight * bias_here;
    bias_square += weight * (square(bias_here) + 1 / at.precision);
    variance += weight * at.variance;
  }
  record.bias = bias / total;
  record.bias_error = std::sqrt(std::max(0.0, bias_square / total - square(record.bias)));
  record.spread = std::sqrt(variance / total);
  return record;
}

}  // namespace

double CallerRecord::spread_with_bias_error() const {
  return std::hypot(spread, bias_error);
}

CallerRecord learn_caller(std::span<const SpokenAndCounted> pairs, double setting_spread) {
  assert(setting_spread > 0);
  return record_of(sums_over(pairs, setting_spread), pairs.size(), setting_spread);
}

std::vector<CallerRecord> learn_without_each(std::span<const SpokenAndCounted> pairs,
                                             double setting_spread) {
  assert(setting_spread > 0);
  const Grid all = sums_over(pairs, setting_spread);
  std::vector<CallerRecord> records;
  records.reserve(pairs.size());
  for (const auto& left_out : pairs) {
    Grid others = all;
    for (Sums& at : others) at.add(left_out, -1);
    records.push_back(record_of(others, pairs.size() - 1, setting_spread));
  }
  return records;
}

}  // namespace stonecall::estimate
