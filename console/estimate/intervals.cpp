#include "console/estimate/intervals.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/special_functions/gamma.hpp>

namespace stonecall::estimate {
namespace {

namespace bm = boost::math;
using Doubles = bm::policies::policy<bm::policies::promote_double<false>>;

bool is_probability(double p) {
  return p > 0 && p < 1;
}

bool possible(std::int64_t met, std::int64_t counted, double confidence) {
  return met >= 0 && met <= counted && is_probability(confidence);
}

double normal_quantile_upper(double tail) {
  return bm::quantile(bm::complement(bm::normal(), tail));
}

// The lower end for z > 0, the upper end for z < 0.
double wilson_end(double met, double counted, double z) {
  if (met == 0 && z > 0) return 0;
  if (met == counted && z < 0) return 1;
  const double z2 = z * z;
  const double root = std::sqrt(met * (1 - met / counted) + z2 / 4);
  return std::clamp((met + z2 / 2 - z * root) / (counted + z2), 0.0, 1.0);
}

Interval wilson_ends(double met, double counted, double z) {
  return {wilson_end(met, counted, z), wilson_end(met, counted, -z)};
}

double beta_quantile(double a, double b, double p) {
  return bm::ibeta_inv(a, b, p);
}
double beta_quantile_upper(double a, double b, double tail) {
  return bm::ibetac_inv(a, b, tail);
}

double total(Counts counts) {
  double sum = 0;
  for (const auto count : counts) sum += static_cast<double>(count);
  return sum;
}

bool any_below_zero(Counts counts) {
  return std::any_of(counts.begin(), counts.end(), [](auto count) { return count < 0; });
}

}  // namespace

Estimate<Interval> wilson(std::int64_t met, std::int64_t counted, double confidence) {
  if (!possible(met, counted, confidence)) return tl::unexpected(NoBasis::not_possible);
  if (counted == 0) return Interval{0, 1};
  return wilson_ends(static_cast<double>(met), static_cast<double>(counted),
                     normal_quantile_upper((1 - confidence) / 2));
}

Estimate<double> wilson_lower(std::int64_t met, std::int64_t counted, double confidence_one_sided) {
  if (!possible(met, counted, confidence_one_sided)) return tl::unexpected(NoBasis::not_possible);
  if (counted == 0) return 0.0;
  return wilson_end(static_cast<double>(met), static_cast<double>(counted),
                    normal_quantile_upper(1 - confidence_one_sided));
}

Estimate<Interval> clopper_pearson(std::int64_t met, std::int64_t counted, double confidence) {
  if (!possible(met, counted, confidence)) return tl::unexpected(NoBasis::not_possible);
  const double tail = (1 - confidence) / 2;
  const auto k = static_cast<double>(met);
  const auto n = static_cast<double>(counted);
  return Interval{met == 0 ? 0 : beta_quantile(k, n - k + 1, tail),
                  met == counted ? 1 : beta_quantile_upper(k + 1, n - k, tail)};
}

Estimate<Interval> jeffreys(std::int64_t met, std::int64_t counted, double confidence) {
  if (!possible(met, counted, confidence)) return tl::unexpected(NoBasis::not_possible);
  const double tail = (1 - confidence) / 2;
  const double a = static_cast<double>(met) + 0.5;
  const double b = static_cast<double>(counted - met) + 0.5;
  return Interval{beta_quantile(a, b, tail), beta_quantile_upper(a, b, tail)};
}

Estimate<Interval> jeffreys_keeping_ends(std::int64_t met, std::int64_t counted,
                                         double confidence) {
  auto interval = jeffreys(met, counted, confidence);
  if (!interval) return interval;
  if (met == 0) interval->lower = 0;
  if (met == counted) interval->upper = 1;
  return interval;
}

Estimate<double> none_met_upper(std::int64_t counted, double confidence_one_sided) {
  if (!possible(0, counted, confidence_one_sided)) return tl::unexpected(NoBasis::not_possible);
  if (counted == 0) return 1.0;
  return -std::expm1(std::log1p(-confidence_one_sided) / static_cast<double>(counted));
}

Estimate<double> rule_of_three(std::int64_t counted) {
  if (counted < 0) return tl::unexpected(NoBasis::not_possible);
  return counted <= 3 ? 1.0 : 3.0 / static_cast<double>(counted);
}

Estimate<double> point_count_two_sigma_percent(double percent, double points) {
  if (!(percent >= 0 && percent <= 100) || !(points >= 1) || !std::isfinite(points)) {
    return tl::unexpected(NoBasis::not_possible);
  }
  return 2 * std::sqrt(percent * (100 - percent) / points);
}

Estimate<std::vector<Interval>> goodman(Counts counts, double confidence) {
  if (any_below_zero(counts) || !is_probability(confidence) || counts.size() < 2) {
    return tl::unexpected(NoBasis::not_possible);
  }
  const double n = total(counts);
  if (n == 0) return tl::unexpected(NoBasis::nothing_counted);
  // Bonferroni over the kinds; each interval has Wilson's form with z² the chi-squared point.
  const double tail = (1 - confidence) / static_cast<double>(counts.size());
  const double z = std::sqrt(bm::quantile(bm::complement(bm::chi_squared(1), tail)));
  std::vector<Interval> intervals;
  intervals.reserve(counts.size());
  for (const auto count : counts)
    intervals.push_back(wilson_ends(static_cast<double>(count), n, z));
  return intervals;
}

namespace {

// The multinomial probability that every count stays within its window, by Levin's representation
// as Poisson counts given their sum, with an Edgeworth series for the sum of the truncated
// Poissons.
class TruncatedPoissons {
 public:
  TruncatedPoissons(Counts counts, double n) : counts_(counts), n_(n) {}

  double probability_within(double half_width) const {
    double log_product = 0;
    double mean = 0, variance = 0, third = 0, fourth = 0;
    for (const auto count : counts_) {
      if (count == 0) continue;  // surely nought
      const auto lambda = static_cast<double>(count);
      const double lo = std::max(lambda - half_width, 0.0);
      const double hi = std::min(lambda + half_width, n_);
      const double inside = at_most(hi, lambda) - at_most(lo - 1, lambda);
      log_product += std::log(inside);
      // Factorial moments: λ^r·P(lo − r … hi − r)/P(lo … hi), by what the shift adds below and
      // takes off above.
      std::array<double, 5> factorial{};
      double power = 1, below = exactly(lo - 1, lambda), above = exactly(hi, lambda), shifted = 0;
      for (int r = 1; r <= 4; ++r) {
        power *= lambda;
        shifted += below - above;
        factorial[static_cast<std::size_t>(r)] = power * (1 + shifted / inside);
        below *= std::max(lo - r, 0.0) / lambda;
        above *= std::max(hi - r + 1, 0.0) / lambda;
      }
      const double m = factorial[1];
      const double m2 = factorial[2] + m - m * m;
      const double m3 = factorial[3] + factorial[2] * (3 - 3 * m) + m - 3 * m * m + 2 * m * m * m;
      const double m4 = factorial[4] + factorial[3] * (6 - 4 * m) +
                        factorial[2] * (7 - 12 * m + 6 * m * m) + m - 4 * m * m + 6 * m * m * m -
                        3 * m * m * m * m;
      mean += m;
      variance += m2;
      third += m3;
      fourth += m4 - 3 * m2 * m2;
    }
    if (!(variance > 0)) return 0;
    const double sd = std::sqrt(variance);
    const double skew = third / (variance * sd);
    const double excess = fourth / (variance * variance);
    const double x = (n_ - mean) / sd;
    const double x2 = x * x;
    const double he3 = x * (x2 - 3);
    const double he4 = x2 * (x2 - 6) + 3;
    const double he6 = x2 * (x2 * (x2 - 15) + 45) - 15;
    const double density = bm::pdf(bm::normal(), x) *
                           (1 + skew * he3 / 6 + excess * he4 / 24 + skew * skew * he6 / 72) / sd;
    const double log_total = n_ * std::log(n_) - n_ - bm::lgamma(n_ + 1);
    return density * std::exp(log_product - log_total);
  }

 private:
  static double at_most(double k, double lambda) {
    return k < 0 ? 0 : bm::gamma_q(k + 1, lambda, Doubles());
  }
  static double exactly(double k, double lambda) {
    return k < 0 ? 0 : bm::gamma_p_derivative(k + 1, lambda, Doubles());
  }

  Counts counts_;
  double n_;
};

}  // namespace

Estimate<std::vector<Interval>> sison_glaz(Counts counts, double confidence) {
  if (any_below_zero(counts) || !is_probability(confidence) || counts.size() < 2) {
    return tl::unexpected(NoBasis::not_possible);
  }
  const double n = total(counts);
  if (n == 0) return tl::unexpected(NoBasis::nothing_counted);
  const TruncatedPoissons windows(counts, n);
  // The smallest half-width whose windows hold the confidence. For few kinds and a high confidence
  // the series is not monotone, so the first widths are tried one by one; wider ones, of large
  // counts, are found by doubling and halving. Windows of one value each count as holding nothing.
  constexpr double one_by_one = 200;
  double below = 0, above = 1;
  while (windows.probability_within(above) <= confidence) {
    below = above;
    above = above < one_by_one ? above + 1 : above * 2;
    if (above > 2 * n + 2) return tl::unexpected(NoBasis::outside_the_data);
  }
  while (above - below > 1) {
    const double middle = std::floor((below + above) / 2);
    (windows.probability_within(middle) <= confidence ? below : above) = middle;
  }
  const double at = windows.probability_within(below);
  const double next = windows.probability_within(above);
  const double part = (confidence - at) / (next - at);
  std::vector<Interval> intervals;
  intervals.reserve(counts.size());
  for (const auto count : counts) {
    const double share = static_cast<double>(count) / n;
    intervals.push_back(
        {std::max(0.0, share - below / n), std::min(1.0, share + (below + 2 * part) / n)});
  }
  return intervals;
}

}  // namespace stonecall::estimate
