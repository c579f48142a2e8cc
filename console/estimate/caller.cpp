#include "console/estimate/caller.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <vector>

namespace stonecall::estimate {
namespace {

constexpr double setting_worth_pairs = 4;
constexpr double half_range_in_sigmas = 1.645;

double square(double x) {
  return x * x;
}

double noise_of(const SpokenAndCounted& pair) {
  const auto n = static_cast<double>(pair.counted);
  const double p = (static_cast<double>(pair.met) + 0.5) / (n + 1);  // never 0 or 1
  return p * (1 - p) * pair.design_effect / n + square(pair.range / (2 * half_range_in_sigmas));
}

}  // namespace

double CallerRecord::spread_with_bias_error() const {
  return std::hypot(spread, bias_error);
}

CallerRecord learn_caller(std::span<const SpokenAndCounted> pairs, double setting_spread) {
  assert(setting_spread > 0);
  CallerRecord record;
  record.pairs = static_cast<std::int64_t>(pairs.size());
  const double bias_variance = square(setting_spread / 2);
  const double prior_scale = square(setting_spread) * (1 - 2 / setting_worth_pairs);
  if (pairs.empty()) {
    record.bias_error = setting_spread / 2;
    record.spread = setting_spread;
    return record;
  }

  struct Point {
    double log_weight, bias, bias_variance, variance;
  };
  std::vector<Point> grid;
  double best = -std::numeric_limits<double>::infinity();
  for (double step = -3; step <= 3; step += 0.05) {
    const double variance = square(setting_spread * std::exp(step));
    double precision = 1 / bias_variance, weighted = 0, log_weight = 0;
    for (const auto& pair : pairs) {
      assert(pair.counted >= 1 && pair.met >= 0 && pair.met <= pair.counted);
      const double difference =
          pair.spoken - static_cast<double>(pair.met) / static_cast<double>(pair.counted);
      const double each = variance + noise_of(pair);
      precision += 1 / each;
      weighted += difference / each;
      log_weight -= (std::log(each) + square(difference) / each) / 2;
    }
    log_weight += (weighted * weighted / precision - std::log(precision)) / 2;
    log_weight -= setting_worth_pairs / 2 * (std::log(variance) + prior_scale / variance);
    grid.push_back({log_weight, weighted / precision, 1 / precision, variance});
    best = std::max(best, log_weight);
  }
  double total = 0, bias = 0, bias_square = 0, variance = 0;
  for (const auto& point : grid) {
    const double weight = std::exp(point.log_weight - best);
    total += weight;
    bias += weight * point.bias;
    bias_square += weight * (square(point.bias) + point.bias_variance);
    variance += weight * point.variance;
  }
  record.bias = bias / total;
  record.bias_error = std::sqrt(std::max(0.0, bias_square / total - square(record.bias)));
  record.spread = std::sqrt(variance / total);
  return record;
}

}  // namespace stonecall::estimate
