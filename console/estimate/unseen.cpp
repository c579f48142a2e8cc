#include "console/estimate/unseen.hpp"

#include <algorithm>
#include <cmath>

#include <boost/math/distributions/normal.hpp>

namespace stonecall::estimate {
namespace {

bool amount(double x) {
  return x >= 0 && std::isfinite(x);
}

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
  if (!amount(further)) return tl::unexpected(NoBasis::not_possible);
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  const double unseen = unseen_of(*met);
  if (unseen == 0) return 0.0;
  const double each = met->once / (met->counted * unseen + met->once);
  return unseen * -std::expm1(further * std::log1p(-each));
}

Estimate<double> coverage_after(Counts counts, double further) {
  if (!amount(further)) return tl::unexpected(NoBasis::not_possible);
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
