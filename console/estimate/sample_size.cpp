#include "console/estimate/sample_size.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::estimate {
namespace {

constexpr double too_many = 1e15;
// Shares and confidences are meant as the decimals they were typed as; doubles miss those by this
// much.
constexpr double rounding = 1e-12;

}  // namespace

Estimate<double> probability_met(double share, std::int64_t rocks) {
  if (!(share >= 0 && share <= 1) || rocks < 0) return tl::unexpected(NoBasis::not_possible);
  if (rocks == 0) return 0.0;
  return -std::expm1(static_cast<double>(rocks) * std::log1p(-share));
}

Estimate<std::int64_t> rocks_to_meet(double share, double confidence) {
  if (!(share > 0 && share <= 1) || !(confidence >= 0 && confidence < 1)) {
    return tl::unexpected(NoBasis::not_possible);
  }
  if (share == 1) return 1;
  const double ratio = std::log1p(-confidence) / std::log1p(-share);
  if (!(ratio < too_many)) return tl::unexpected(NoBasis::not_possible);
  return std::max<std::int64_t>(1, std::llround(std::ceil(ratio * (1 - rounding))));
}

namespace {

// Probability that at least one of `kinds` kinds of `share` each is missed among n rocks. The terms
// alternate and shrink faster than their number grows once fewer than about ten kinds are expected
// missing.
double any_missed(double kinds, double share, double n) {
  double sum = 0, log_choose = 0, sign = 1;
  for (double i = 1; i <= kinds; ++i, sign = -sign) {
    log_choose += std::log((kinds - i + 1) / i);
    const double left = 1 - i * share;
    if (!(left > rounding)) break;
    const double term = std::exp(log_choose + n * std::log(left));
    sum += sign * term;
    if (term < 1e-17) break;
  }
  return sum;
}

}  // namespace

Estimate<std::int64_t> rocks_to_miss_none(double smallest_share, double miss_probability) {
  if (!(smallest_share >= 1e-6 && smallest_share < 1) ||
      !(miss_probability > 0 && miss_probability < 1)) {
    return tl::unexpected(NoBasis::not_possible);
  }
  const double kinds = std::floor(1 / smallest_share + rounding / smallest_share);
  const double log_each = std::log1p(-smallest_share);
  // Where ten kinds are still expected missing, one surely is; the search starts there.
  double below = std::max(0.0, std::floor(std::log(10 / kinds) / log_each));
  double above = std::ceil(std::log(miss_probability / kinds) / log_each) + 1;  // Bonferroni
  while (above - below > 1) {
    const double middle = std::floor((above + below) / 2);
    const bool enough =
        any_missed(kinds, smallest_share, middle) <= miss_probability * (1 + rounding);
    (enough ? above : below) = middle;
  }
  return std::llround(above);
}

}  // namespace stonecall::estimate
