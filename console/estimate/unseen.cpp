#include "console/estimate/unseen.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <boost/math/distributions/gamma.hpp>
#include <boost/math/distributions/normal.hpp>

namespace stonecall::estimate {
namespace {

// Of the rocks that would extend the coverage, the part that would not: Chao & Jost's factor.
double deficit_factor(const MetOnceAndTwice& met) {
  const double n1 = met.counted - 1;
  if (met.twice > 0) return n1 * met.once / (n1 * met.once + 2 * met.twice);
  if (met.once > 1) return n1 * (met.once - 1) / (n1 * (met.once - 1) + 2);
  return 0;
}

double unseen_of(const MetOnceAndTwice& met) {
  const double factor = (met.counted - 1) / met.counted;
  return factor *
         (met.twice > 0 ? met.once * met.once / (2 * met.twice) : met.once * (met.once - 1) / 2);
}

/// f0·(1 − (1 − f1/(n·f0 + f1))^further).
double new_among(double counted, double once, double unseen, double further) {
  if (unseen <= 0 || once <= 0) return 0;
  return unseen * -std::expm1(further * std::log1p(-once / (counted * unseen + once)));
}

constexpr std::size_t kSteps = 12;

/// Equally likely values of Gamma(shape, rate): the middles of as many slices.
std::array<double, kSteps> slices(double shape, double rate) {
  const boost::math::gamma_distribution<> gamma(shape, 1 / rate);
  std::array<double, kSteps> values{};
  for (std::size_t i = 0; i < kSteps; ++i)
    values[i] = boost::math::quantile(gamma, (static_cast<double>(i) + 0.5) / kSteps);
  return values;
}

/// P(0), P(1), … of a number that is Poisson about each of the means alike, to where all but a
/// millionth is told.
std::vector<double> mixed_poisson(const std::vector<double>& means) {
  std::vector<double> terms(means.size()), chances;
  std::ranges::transform(means, terms.begin(), [](double mean) { return std::exp(-mean); });
  double told = 0;
  constexpr std::size_t kMost = 10'000;
  for (std::size_t k = 0; told < 1 - 1e-6 && k < kMost; ++k) {
    double sum = 0;
    for (std::size_t i = 0; i < means.size(); ++i) {
      sum += terms[i];
      terms[i] *= means[i] / static_cast<double>(k + 1);
    }
    chances.push_back(sum / static_cast<double>(means.size()));
    told += chances.back();
  }
  return chances;
}

}  // namespace

Estimate<MetOnceAndTwice> met_once_and_twice(Counts counts) {
  MetOnceAndTwice met;
  for (const auto count : counts) {
    if (count < 0) return tl::unexpected(NoBasis::not_possible);
    if (count > 0) ++met.observed;
    if (count == 1) ++met.once;
    if (count == 2) ++met.twice;
    met.counted += static_cast<double>(count);
  }
  if (met.observed == 0) return tl::unexpected(NoBasis::nothing_counted);
  return met;
}

Estimate<double> coverage_good(Counts counts) {
  return met_once_and_twice(counts).map([](const auto& met) { return 1 - met.once / met.counted; });
}

Estimate<double> coverage_chao_jost(Counts counts) {
  return coverage_after(counts, 0);
}

Estimate<double> unseen_kinds(Counts counts) {
  return met_once_and_twice(counts).map(unseen_of);
}

Estimate<double> expected_new_kinds(Counts counts, double further) {
  if (!is_amount(further)) return tl::unexpected(NoBasis::not_possible);
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  const double unseen = unseen_of(*met);
  return new_among(met->counted, met->once, unseen, further);
}

Estimate<Interval> new_kinds_range(Counts counts, const RatePosterior& rocks_per_minute,
                                   double minutes, double confidence) {
  if (!is_amount(minutes) || !(confidence > 0 && confidence < 1))
    return tl::unexpected(NoBasis::not_possible);
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  if (met->counted < 2) return tl::unexpected(NoBasis::too_few_counted);
  const double n = met->counted;
  const auto once = slices(met->once + 0.5, 1), twice = slices(met->twice + 0.5, 1),
             pace = slices(rocks_per_minute.shape, rocks_per_minute.rate_minutes);
  std::vector<double> means;
  means.reserve(kSteps * kSteps * kSteps);
  for (const double f1 : once)
    for (const double f2 : twice)
      for (const double rate : pace)
        means.push_back(new_among(n, f1, (n - 1) / n * f1 * f1 / (2 * f2), rate * minutes));
  const auto chances = mixed_poisson(means);
  const double tail = (1 - confidence) / 2;
  const auto quantile = [&](double probability) {
    double told = 0;
    std::size_t kinds = 0;
    while (kinds + 1 < chances.size() && (told += chances[kinds]) < probability) ++kinds;
    return static_cast<double>(kinds);
  };
  return Interval{quantile(tail), quantile(1 - tail)};
}

Estimate<double> coverage_after(Counts counts, double further) {
  if (!is_amount(further)) return tl::unexpected(NoBasis::not_possible);
  return met_once_and_twice(counts).map([&](const auto& met) {
    return 1 - met.once / met.counted * std::pow(deficit_factor(met), further + 1);
  });
}

Estimate<NextIsNew> next_is_new(Counts counts, double confidence) {
  if (!(confidence > 0 && confidence < 1)) return tl::unexpected(NoBasis::not_possible);
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  if (met->counted < 2) return tl::unexpected(NoBasis::too_few_counted);
  const double n = met->counted;
  const double good = met->once / n;
  const bool one_loose_end = met->once == 1 && met->twice == 0;
  const double probability = one_loose_end ? good : good * deficit_factor(*met);
  const double sd = std::sqrt(met->once * (1 - good) + 2 * met->twice) / n;
  const double z =
      boost::math::quantile(boost::math::complement(boost::math::normal(), (1 - confidence) / 2));
  const double one_missed_kind = -std::expm1(std::log1p(-confidence) / n);
  return NextIsNew{probability,
                   {std::clamp(good - z * sd, 0.0, probability),
                    std::clamp(std::max(good + z * sd, one_missed_kind), probability, 1.0)}};
}

std::int64_t one_in(double probability) {
  if (!(probability > 1e-15)) return 0;
  return std::max<std::int64_t>(1, std::llround(1 / probability));
}

}  // namespace stonecall::estimate
