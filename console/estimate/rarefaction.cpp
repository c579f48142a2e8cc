#include "console/estimate/rarefaction.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <boost/math/special_functions/gamma.hpp>

#include "console/estimate/unseen.hpp"

namespace stonecall::estimate {
namespace {

// Probability that `rocks` picked out of `n` miss all `of_kind` of them: C(n − of_kind, rocks) /
// C(n, rocks).
double missed(double n, double of_kind, double rocks) {
  if (of_kind + rocks > n) return 0;
  const double fewer = std::min(of_kind, rocks);
  const double more = std::max(of_kind, rocks);
  if (fewer <= 100) {
    double log_probability = 0;
    for (double j = 0; j < fewer; ++j) log_probability += std::log1p(-more / (n - j));
    return std::exp(log_probability);
  }
  const auto log_factorial = [](double x) {
    return boost::math::lgamma(static_cast<long double>(x) + 1);
  };
  return static_cast<double>(std::exp(log_factorial(n - of_kind) -
                                      log_factorial(n - of_kind - rocks) - log_factorial(n) +
                                      log_factorial(n - rocks)));
}

}  // namespace

Estimate<WithError> rarefied_kinds(Counts counts, std::int64_t rocks) {
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  const double n = met->counted;
  const auto m = static_cast<double>(rocks);
  if (rocks < 0 || m > n) return tl::unexpected(NoBasis::outside_the_data);

  std::map<std::int64_t, double> kinds_met;  // times met -> kinds
  for (const auto count : counts) {
    if (count > 0) ++kinds_met[count];
  }
  double expected = 0, variance = 0;
  for (auto a = kinds_met.begin(); a != kinds_met.end(); ++a) {
    const auto [times, kinds] = *a;
    const double miss = missed(n, static_cast<double>(times), m);
    expected += kinds * (1 - miss);
    variance += kinds * miss * (1 - miss);
    variance += kinds * (kinds - 1) * (missed(n, 2 * static_cast<double>(times), m) - miss * miss);
    for (auto b = kinds_met.begin(); b != a; ++b) {
      const double both = missed(n, static_cast<double>(times + b->first), m);
      variance +=
          2 * kinds * b->second * (both - miss * missed(n, static_cast<double>(b->first), m));
    }
  }
  return WithError{expected, std::sqrt(std::max(0.0, variance))};
}

Estimate<KindsAndCoverage> kinds_and_coverage_at(Counts counts, std::int64_t rocks) {
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  if (rocks < 1) return tl::unexpected(NoBasis::outside_the_data);
  const double n = met->counted;
  const auto m = static_cast<double>(rocks);
  if (m >= n) {
    return KindsAndCoverage{static_cast<double>(met->observed) + *expected_new_kinds(counts, m - n),
                            *coverage_after(counts, m - n)};
  }
  double covered = 1;
  for (const auto count : counts) {
    const auto times = static_cast<double>(count);
    // The rock after the m is of this kind, and none of the m was.
    if (count > 0) covered -= times / n * missed(n - 1, times - 1, m);
  }
  return KindsAndCoverage{rarefied_kinds(counts, rocks)->value, covered};
}

}  // namespace stonecall::estimate
