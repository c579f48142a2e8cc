#include "console/estimate/richness.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include <boost/math/distributions/normal.hpp>

#include "console/estimate/unseen.hpp"

namespace stonecall::estimate {
namespace {

double square(double x) {
  return x * x;
}

double root(double variance) {
  return std::sqrt(std::max(0.0, variance));
}

// Chao's estimator from numbers of kinds met once and twice, for counts (Chao1) and units (Chao2)
// alike.
WithError chao_classic(double observed, double once, double twice, double factor) {
  if (once == 0) return {observed, 0};
  if (twice > 0) {
    const double r = once / twice;
    return {observed + factor * once * r / 2,
            root(twice * (factor / 2 * square(r) + square(factor) * r * square(r) +
                          square(factor) / 4 * square(square(r))))};
  }
  const double estimate = observed + factor * once * (once - 1) / 2;
  return {estimate,
          root(factor * once * (once - 1) / 2 + square(factor) * once * square(2 * once - 1) / 4 -
               square(factor) * square(square(once)) / (4 * estimate))};
}

}  // namespace

Estimate<WithError> chao1_bias_corrected(Counts counts) {
  return met_once_and_twice(counts).map([](const auto& met) {
    const auto observed = static_cast<double>(met.observed);
    const double f1 = met.once, f2 = met.twice, b = f2 + 1;
    const double estimate = observed + f1 * (f1 - 1) / (2 * b);
    const double by_once = 1 + (2 * f1 - 1) / (2 * b);
    const double by_twice = 1 - f1 * (f1 - 1) / (2 * square(b));
    const double others = observed - f1 - f2;  // each adds one kind, and its gradient is 1
    const double squares = square(by_once) * f1 + square(by_twice) * f2 + others;
    const double linear = by_once * f1 + by_twice * f2 + others;
    return WithError{estimate, root(squares - square(linear) / estimate)};
  });
}

Estimate<WithError> chao1_classic(Counts counts, SmallSample factor) {
  return met_once_and_twice(counts).map([&](const auto& met) {
    const double c = factor == SmallSample::corrected ? (met.counted - 1) / met.counted : 1;
    return chao_classic(static_cast<double>(met.observed), met.once, met.twice, c);
  });
}

namespace {

constexpr std::size_t rare = 10;

// What the abundance-based coverage estimator reads off the counts.
struct RareKinds {
  std::array<double, rare + 1> met{};  // met[i]: kinds met i times
  double kinds = 0;
  double rocks = 0;  // Σ i·met[i]
  double pairs = 0;  // Σ i(i − 1)·met[i]
  double common_kinds = 0;

  double once() const { return met[1]; }
  double coverage() const { return 1 - once() / rocks; }
  double variation() const { return kinds * pairs / (coverage() * rocks * (rocks - 1)) - 1; }
  double estimate() const {
    return common_kinds + (kinds + std::max(0.0, variation()) * once()) / coverage();
  }
};

Estimate<RareKinds> rare_kinds(Counts counts) {
  const auto all = met_once_and_twice(counts);
  if (!all) return tl::unexpected(all.error());
  RareKinds found;
  for (const auto count : counts) {
    if (count > 0 && count <= static_cast<std::int64_t>(rare))
      ++found.met[static_cast<std::size_t>(count)];
  }
  for (std::size_t i = 1; i <= rare; ++i) {
    const auto times = static_cast<double>(i);
    found.kinds += found.met[i];
    found.rocks += times * found.met[i];
    found.pairs += times * (times - 1) * found.met[i];
  }
  found.common_kinds = static_cast<double>(all->observed) - found.kinds;
  if (found.kinds > 0 && found.once() == found.rocks) return tl::unexpected(NoBasis::all_seen_once);
  return found;
}

// Delta method: the numbers of kinds met i times vary together like a multinomial sample of all
// kinds.
template <class Gradient>
double error_by(const Gradient& slope, const RareKinds& found, double all_kinds) {
  double squares = 0, linear = 0;
  for (std::size_t i = 1; i <= rare; ++i) {
    const double g = slope(static_cast<double>(i));
    squares += g * g * found.met[i];
    linear += g * found.met[i];
  }
  return root(squares - linear * linear / all_kinds);
}

// Of f = (kinds + once·variation)/coverage by the number of kinds met i times, the coverage and its
// slopes being given; `spread` false leaves the variation out.
double ace_slope(const RareKinds& found, double i, double coverage, double d_coverage,
                 bool spread) {
  const double d_once = i == 1 ? 1 : 0;
  const double pairs_total = coverage * found.rocks * (found.rocks - 1);
  const double ratio = found.kinds * found.pairs / pairs_total;
  const double d_ratio = (found.pairs + found.kinds * i * (i - 1)) / pairs_total -
                         ratio * (d_coverage / coverage + i / found.rocks + i / (found.rocks - 1));
  const double sum = found.kinds + (spread ? found.once() * (ratio - 1) : 0);
  const double d_sum = 1 + (spread ? d_once * (ratio - 1) + found.once() * d_ratio : 0);
  return d_sum / coverage - sum * d_coverage / (coverage * coverage);
}

}  // namespace

Estimate<WithError> ace(Counts counts) {
  return rare_kinds(counts).map([](const RareKinds& found) {
    if (found.kinds == 0) return WithError{found.common_kinds, 0};
    const double estimate = found.estimate();
    const auto slope = [&](double i) {
      const double d_coverage =
          found.once() * i / (found.rocks * found.rocks) - (i == 1 ? 1 / found.rocks : 0);
      return ace_slope(found, i, found.coverage(), d_coverage, found.variation() > 0);
    };
    return WithError{estimate, error_by(slope, found, estimate)};
  });
}

Estimate<double> ace_error_as_vegan(Counts counts) {
  return rare_kinds(counts).map([](const RareKinds& found) {
    if (found.kinds == 0) return 0.0;
    const double fewer = 1 - found.rocks;
    const double coverage = 1 - found.once() / fewer;
    const auto slope = [&](double i) {
      const double d_coverage = -found.once() * i / (fewer * fewer) - (i == 1 ? 1 / fewer : 0);
      return ace_slope(found, i, coverage, d_coverage, true);
    };
    return error_by(slope, found, found.estimate());
  });
}

Interval lognormal_interval(std::int64_t observed, const WithError& estimate, double confidence) {
  assert(confidence > 0 && confidence < 1);
  const auto met = static_cast<double>(observed);
  const double unseen = estimate.value - met;
  if (!(unseen > 0) || !(estimate.standard_error > 0)) return {estimate.value, estimate.value};
  const double z =
      boost::math::quantile(boost::math::complement(boost::math::normal(), (1 - confidence) / 2));
  const double k = std::exp(z * std::sqrt(std::log1p(square(estimate.standard_error / unseen))));
  return {met + unseen / k, met + unseen * k};
}

Estimate<Interval> chao1_interval(Counts counts, const WithError& chao1, double confidence) {
  return met_once_and_twice(counts).map([&](const MetOnceAndTwice& met) {
    const auto observed = static_cast<double>(met.observed);
    if (chao1.value > observed && chao1.standard_error > 0)
      return lognormal_interval(met.observed, chao1, confidence);
    double missed = 0, spread = 0, slope = 0;
    for (const auto count : counts) {
      if (count == 0) continue;
      const auto times = static_cast<double>(count);
      const double miss = std::exp(-times);
      missed += miss / observed;
      spread += miss - miss * miss;
      slope += times * miss;
    }
    const double z =
        boost::math::quantile(boost::math::complement(boost::math::normal(), (1 - confidence) / 2));
    const double middle = observed / (1 - missed);
    const double reach = z * root(spread - slope * slope / met.counted) / (1 - missed);
    return Interval{std::max(observed, middle - reach), middle + reach};
  });
}

Estimate<IncidenceRichness> incidence_richness(const Presence& presence) {
  const auto units = presence.size();
  const auto kinds = units == 0 ? 0 : presence.front().size();
  std::vector<std::size_t> met_in(kinds, 0);
  for (const auto& unit : presence) {
    assert(unit.size() == kinds);
    for (std::size_t i = 0; i < kinds; ++i) met_in[i] += unit[i] ? 1 : 0;
  }
  std::vector<std::size_t> met;
  for (std::size_t i = 0; i < kinds; ++i) {
    if (met_in[i] > 0) met.push_back(i);
  }
  if (met.empty()) return tl::unexpected(NoBasis::nothing_counted);

  const auto observed = static_cast<double>(met.size());
  const auto t = static_cast<double>(units);
  double q1 = 0, q2 = 0;
  for (const auto i : met) {
    if (met_in[i] == 1) ++q1;
    if (met_in[i] == 2) ++q2;
  }
  IncidenceRichness richness;
  richness.observed = static_cast<std::int64_t>(met.size());
  richness.units = static_cast<std::int64_t>(units);
  richness.unique = static_cast<std::int64_t>(q1);
  richness.duplicate = static_cast<std::int64_t>(q2);
  richness.chao2 = chao_classic(observed, q1, q2, (t - 1) / t);
  richness.chao2_no_factor = chao_classic(observed, q1, q2, 1);

  double unique_squares = 0;  // over the units, of the kinds that this unit alone met
  for (const auto& unit : presence) {
    double alone = 0;
    for (const auto i : met) alone += unit[i] && met_in[i] == 1 ? 1 : 0;
    unique_squares += square(alone);
  }
  richness.jackknife1 = {observed + q1 * (t - 1) / t,
                         root((unique_squares - q1 / t) * (t - 1) / t)};
  // One unit leaves nothing to take away.
  richness.jackknife2 =
      units == 1 ? observed : observed + q1 * (2 * t - 3) / t - q2 * square(t - 2) / (t * (t - 1));

  const auto missed = [&](double units_without) { return std::pow(units_without / t, t); };
  std::vector<double> miss(met.size());
  double sum = 0, variance = 0;
  for (std::size_t i = 0; i < met.size(); ++i) {
    miss[i] = missed(t - static_cast<double>(met_in[met[i]]));
    sum += miss[i];
    variance += miss[i] * (1 - miss[i]);
  }
  for (std::size_t i = 0; i < met.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      double neither = 0;
      for (const auto& unit : presence) neither += !unit[met[i]] && !unit[met[j]] ? 1 : 0;
      variance += 2 * (missed(neither) - miss[i] * miss[j]);
    }
  }
  richness.bootstrap = {observed + sum, root(variance)};
  return richness;
}

}  // namespace stonecall::estimate
