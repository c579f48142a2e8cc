#include "console/estimate/diversity.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <random>
#include <vector>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/quadrature/exp_sinh.hpp>
#include <boost/math/special_functions/digamma.hpp>

#include "console/estimate/abundance.hpp"
#include "console/estimate/richness.hpp"
#include "console/estimate/unseen.hpp"

namespace stonecall::estimate {
namespace {

using Shares = std::vector<double>;
using Row = std::vector<std::int64_t>;

/// (1−A)^(1−n) (−ln A − Σ_{r<n} (1−A)^r / r) = Σ_{j≥1} (1−A)^j / (n−1+j), which loses no digits.
double unseen_entropy(double n, double a) {
  const double z = 1 - a;
  if (!(z > 0)) return 0;
  constexpr double kQuick = 0.05;
  if (a > kQuick) {
    double sum = 0, power = z;
    for (double j = 1; power > 1e-17; ++j, power *= z) sum += power / (n - 1 + j);
    return sum;
  }
  // The same as an integral: of u^(n−1) z/(1 − zu) over u from 0 to 1, with u = exp(−s/n).
  boost::math::quadrature::exp_sinh<double> integrator;
  return integrator.integrate(
      [&](double s) { return std::exp(-s) * z / (n * (a - z * std::expm1(-s / n))); });
}

double entropy_of_ground(Counts counts, const MetOnceAndTwice& met) {
  const double n = met.counted;
  double entropy = 0;
  for (const auto count : counts) {
    const auto x = static_cast<double>(count);
    if (count > 0 && x < n) entropy += x / n * (boost::math::digamma(n) - boost::math::digamma(x));
  }
  if (met.once == 0) return entropy;
  const double a = met.twice > 0 ? 2 * met.twice / ((n - 1) * met.once + 2 * met.twice)
                                 : 2 / ((n - 1) * (met.once - 1) + 2);
  return entropy + met.once / n * unseen_entropy(n, a);
}

/// Looks by their sizes alone, and how alike the rocks of each are.
struct Patches {
  std::vector<std::int64_t> rocks;
  double patchiness = 0;
  double ordered_pairs = 0;  ///< of rocks of one look
};

/// Logarithms of orders 1 and 2. Order 2 of counts without two of a kind has no end; it is taken as
/// Chao1's number of kinds.
std::array<double, 2> log_estimates(Counts counts, const Patches& patches) {
  const auto met = met_once_and_twice(counts).value();
  double alike = -patches.patchiness * patches.ordered_pairs;
  for (const auto count : counts)
    alike += static_cast<double>(count) * (static_cast<double>(count) - 1);
  const double pairs = met.counted * (met.counted - 1) - patches.patchiness * patches.ordered_pairs;
  const double most = std::log(chao1_bias_corrected(counts)->value);
  const double order2 = alike > 0 ? std::log(pairs / alike) : most;
  return {entropy_of_ground(counts, met), std::clamp(order2, 0.0, std::max(most, 0.0))};
}

/// The estimated ground to draw from: first the kinds met, in their order, then those not met.
Shares drawn_ground(Counts counts) {
  const double n = met_once_and_twice(counts)->counted;
  const double left = 1 - *coverage_chao_jost(counts);
  double missed = 0;
  for (const auto count : counts) {
    const double p = static_cast<double>(count) / n;
    missed += p * std::pow(1 - p, n);
  }
  // Ever more kinds of ever smaller share are drawn alike.
  constexpr double kMostUnseen = 200;
  const double unseen = std::min(std::ceil(*unseen_kinds(counts)), kMostUnseen);
  const double lambda = unseen > 0 && missed > 0 ? left / missed : 0;
  Shares shares;
  double sum = 0;
  for (const auto count : counts) {
    const double p = static_cast<double>(count) / n;
    if (count > 0) shares.push_back(std::max(0.0, p * (1 - lambda * std::pow(1 - p, n))));
  }
  shares.insert(shares.end(), static_cast<std::size_t>(unseen), left / std::max(unseen, 1.0));
  for (const double share : shares) sum += share;
  for (double& share : shares) share /= sum;
  return shares;
}

std::array<double, 2> log_numbers(const Shares& shares) {
  double entropy = 0, squares = 0;
  for (const double p : shares) {
    if (p > 0) entropy -= p * std::log(p);
    squares += p * p;
  }
  return {entropy, -std::log(squares)};
}

/// Adds `rocks` rocks of a ground to the counts.
void draw_rocks(std::int64_t rocks, const Shares& shares, Generator& generator, Row& counts) {
  double left = std::accumulate(shares.begin(), shares.end(), 0.0);
  for (std::size_t k = 0; k < shares.size() && rocks > 0; ++k) {
    const bool last = k + 1 == shares.size() || !(shares[k] < left);
    const auto drawn =
        last ? rocks : std::binomial_distribution<std::int64_t>(rocks, shares[k] / left)(generator);
    counts[k] += drawn;
    rocks -= drawn;
    left -= shares[k];
  }
}

/// Shares of one patch: Dirichlet around the ground's, up to their sum.
Shares draw_patch(const Shares& ground, double patchiness, Generator& generator) {
  Shares patch(ground.size(), 0.0);
  double sum = 0;
  for (std::size_t k = 0; k < ground.size(); ++k) {
    const double shape = ground[k] * (1 - patchiness) / patchiness;
    if (shape > 0) sum += patch[k] = std::gamma_distribution<double>(shape, 1)(generator);
  }
  // So patchy that every weight vanishes: a patch of one kind.
  if (!(sum > 0))
    patch[std::discrete_distribution<std::size_t>(ground.begin(), ground.end())(generator)] = 1;
  return patch;
}

Row draw_looks(const Patches& patches, const Shares& ground, Generator& generator) {
  Row counts(ground.size(), 0);
  if (patches.patchiness == 0) {
    draw_rocks(std::reduce(patches.rocks.begin(), patches.rocks.end()), ground, generator, counts);
    return counts;
  }
  for (const auto rocks : patches.rocks)
    draw_rocks(rocks, draw_patch(ground, patches.patchiness, generator), generator, counts);
  return counts;
}

struct Scatter {
  double mean = 0;
  double deviation = 0;
};

/// Of the logarithms of orders 1 and 2 over drawn looks.
std::array<Scatter, 2> scatter(const Patches& patches, const Shares& ground, std::uint64_t seed) {
  constexpr double kDraws = 500, kFewest = 50, kMostCells = 4e6;
  const double cells = static_cast<double>(ground.size()) *
                       (patches.patchiness > 0 ? static_cast<double>(patches.rocks.size()) : 1);
  const double draws = std::floor(std::clamp(kMostCells / cells, kFewest, kDraws));
  Generator generator(seed);
  std::array<double, 2> sum{}, squares{};
  for (double draw = 0; draw < draws; ++draw) {
    const auto drawn = log_estimates(draw_looks(patches, ground, generator), patches);
    for (std::size_t order = 0; order < 2; ++order) {
      sum[order] += drawn[order];
      squares[order] += drawn[order] * drawn[order];
    }
  }
  std::array<Scatter, 2> found;
  for (std::size_t order = 0; order < 2; ++order) {
    const double mean = sum[order] / draws;
    found[order] = {mean, std::sqrt(std::max(0.0, squares[order] / draws - mean * mean))};
  }
  return found;
}

/// Logarithm of the Hill number (order 1, order 2) once a kind of the share u is added.
std::array<double, 2> with_one_more(std::array<double, 2> log_number, double u) {
  const double mixing = -u * std::log(u) - (1 - u) * std::log1p(-u);
  return {(1 - u) * log_number[0] + mixing,
          -std::log((1 - u) * (1 - u) * std::exp(-log_number[1]) + u * u)};
}

}  // namespace

Estimate<Diversity> diversity(Counts counts) {
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  double entropy = 0, squares = 0;
  for (const auto count : counts) {
    if (count == 0) continue;
    const double p = static_cast<double>(count) / met->counted;
    entropy -= p * std::log(p);
    squares += p * p;
  }
  return Diversity{static_cast<double>(met->observed), std::exp(entropy), 1 / squares, entropy,
                   1 - squares};
}

Estimate<GroundDiversity> ground_diversity(const Looks& looks, double patchiness, double confidence,
                                           std::uint64_t seed) {
  if (!(patchiness >= 0 && patchiness <= 1) || !(confidence > 0 && confidence < 1))
    return tl::unexpected(NoBasis::not_possible);
  Row counts(looks.empty() ? 0 : looks.front().size(), 0);
  Patches patches;
  // Looks of one kind each leave no pair to tell the shares by.
  constexpr double kPatchiest = 0.99;
  patches.patchiness = std::min(patchiness, kPatchiest);
  for (const auto& look : looks) {
    for (std::size_t k = 0; k < counts.size(); ++k) {
      if (look[k] < 0) return tl::unexpected(NoBasis::not_possible);
      counts[k] += look[k];
    }
    patches.rocks.push_back(std::reduce(look.begin(), look.end()));
    const auto rocks = static_cast<double>(patches.rocks.back());
    patches.ordered_pairs += rocks * (rocks - 1);
  }
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  if (met->counted < 2) return tl::unexpected(NoBasis::too_few_counted);
  if (met->once == met->counted) return tl::unexpected(NoBasis::all_seen_once);

  const auto richness = *chao1_bias_corrected(counts);
  GroundDiversity varied;
  varied.kinds = {richness.value, *chao1_interval(counts, richness, confidence)};

  auto estimates = log_estimates(counts, patches);
  const auto ground = drawn_ground(counts);
  const auto truth = log_numbers(ground);
  const auto drawn = scatter(patches, ground, seed);
  if (patches.patchiness > 0)
    for (std::size_t order = 0; order < 2; ++order)
      estimates[order] = std::max(0.0, estimates[order] - (drawn[order].mean - truth[order]));
  const double singly = met->counted / design_effect(looks, patches.patchiness);
  const auto at_most = with_one_more(estimates, -std::expm1(std::log1p(-confidence) / singly));
  const double z =
      boost::math::quantile(boost::math::complement(boost::math::normal(), (1 - confidence) / 2));
  double before = varied.kinds.value;
  for (std::size_t order = 0; order < 2; ++order) {
    const double reach = z * drawn[order].deviation;
    const double value = std::min(std::exp(estimates[order]), before);
    auto& number = order == 0 ? varied.common : varied.dominant;
    number = {value,
              {std::min(value, std::max(1.0, std::exp(estimates[order] - reach))),
               std::exp(std::max(estimates[order] + reach, at_most[order]))}};
    number.interval.upper = std::max(number.interval.upper, value);
    before = value;
  }
  return varied;
}

}  // namespace stonecall::estimate
