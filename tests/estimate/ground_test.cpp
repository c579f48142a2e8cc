#include "console/estimate/ground.hpp"

#include <cmath>
#include <random>
#include <vector>

#include <catch2/catch.hpp>

#include "console/estimate/commonness.hpp"
#include "console/estimate/patchiness.hpp"

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using Shares = std::vector<double>;

Shares normalised(Shares weights) {
  double total = 0;
  for (const double weight : weights) total += weight;
  for (double& weight : weights) weight /= total;
  return weights;
}

Shares dirichlet(const Shares& alpha, std::mt19937_64& generator) {
  Shares drawn;
  for (const double a : alpha)
    drawn.push_back(std::gamma_distribution<double>(a)(generator) + 1e-300);
  return normalised(drawn);
}

std::vector<std::int64_t> look(const Shares& shares, int rocks, std::mt19937_64& generator) {
  std::vector<std::int64_t> counts(shares.size(), 0);
  std::discrete_distribution<std::size_t> pick(shares.begin(), shares.end());
  for (int rock = 0; rock < rocks; ++rock) ++counts[pick(generator)];
  return counts;
}

// Looks on ground where rocks of one look are alike with correlation rho: each look has shares of
// its own.
Looks patchy_looks(const Shares& shares, int looks, int rocks, double rho,
                   std::mt19937_64& generator) {
  Looks all;
  for (int i = 0; i < looks; ++i) {
    Shares alpha = shares;
    for (double& a : alpha) a *= (1 - rho) / rho;
    all.push_back(look(dirichlet(alpha, generator), rocks, generator));
  }
  return all;
}

SharePosterior counted(std::vector<std::int64_t> counts) {
  Evidence evidence;
  evidence.classes = counts.size();
  evidence.looks.push_back(std::move(counts));
  return share_posterior(evidence);
}

}  // namespace

TEST_CASE("Two single rocks of one kind speak four to three for the same ground") {
  // By hand, two kinds, uniform prior: ∫p² dp / (∫p dp)² = (1/3)/(1/4).
  const auto same = same_ground(Shares{1, 0}, Shares{1, 0}, 1);
  CHECK_THAT(std::exp(same.log_bayes_factor), WithinRel(4.0 / 3, 1e-12));
  CHECK_THAT(same.probability, WithinRel(4.0 / 7, 1e-12));
  // Of different kinds: ∫p(1 − p) dp / (∫p dp)² = (1/6)/(1/4).
  CHECK_THAT(std::exp(same_ground(Shares{1, 0}, Shares{0, 1}, 1).log_bayes_factor),
             WithinRel(2.0 / 3, 1e-12));
}

TEST_CASE("With nothing counted at one of two stations the prior stands") {
  CHECK_THAT(same_ground(Shares{7, 2, 1}, Shares{0, 0, 0}).probability, WithinAbs(0.5, 1e-12));
  CHECK_THAT(same_ground(Shares{7, 2, 1}, Shares{0, 0, 0}, 0.5, 0.2).probability,
             WithinAbs(0.2, 1e-12));
}

TEST_CASE("It does not matter which of two stations is called here") {
  CHECK_THAT(same_ground(Shares{7, 2, 1}, Shares{1, 8, 3}).log_bayes_factor,
             WithinAbs(same_ground(Shares{1, 8, 3}, Shares{7, 2, 1}).log_bayes_factor, 1e-12));
}

TEST_CASE(
    "Like shares speak for the same ground and unlike ones against, the more the more is counted") {
  CHECK(same_ground(Shares{70, 20, 10}, Shares{70, 20, 10}).probability >
        same_ground(Shares{7, 2, 1}, Shares{7, 2, 1}).probability);
  CHECK(same_ground(Shares{70, 20, 10}, Shares{10, 20, 70}).probability < 1e-6);
}

TEST_CASE("Of stations called the same ground with 80 percent four in five are") {
  // Simulated from the model itself: half the pairs share their ground. Fixed seed; about 700 pairs
  // in the bin, standard error 0.015.
  std::mt19937_64 generator(17);
  int called = 0, right = 0;
  double stated = 0;
  for (int round = 0; round < 6000; ++round) {
    const bool same = round % 2 == 0;
    const auto here = dirichlet(Shares(4, 0.5), generator);
    const auto there = same ? here : dirichlet(Shares(4, 0.5), generator);
    const auto a = look(here, 10, generator), b = look(there, 10, generator);
    const auto answer = same_ground(Shares(a.begin(), a.end()), Shares(b.begin(), b.end()));
    if (answer.probability < 0.7 || answer.probability > 0.9) continue;
    ++called;
    right += same;
    stated += answer.probability;
  }
  REQUIRE(called > 400);
  CHECK_THAT(static_cast<double>(right) / called, WithinAbs(stated / called, 0.06));
}

TEST_CASE("One look tells nothing of patchiness, and the tallies count in full") {
  const Looks looks{{7, 2, 1}};
  CHECK(patchiness(std::vector<Looks>{looks}).error() == NoBasis::too_few_looks);
  CHECK(design_effect(looks) == 1);
  CHECK(design_effect(Looks{}) == 1);
  CHECK(design_effect(Looks{{0, 0}, {0, 0}}) == 1);
}

TEST_CASE("Looks that agree count in full") {
  CHECK(design_effect(Looks{{5, 3, 2}, {5, 3, 2}, {5, 3, 2}}) == 1);
}

TEST_CASE("Ten rocks of one look that are all alike count as one") {
  const Looks looks{{10, 0}, {0, 10}};
  CHECK(patchiness(std::vector<Looks>{looks}).value() == 1);
  CHECK_THAT(design_effect(looks), WithinRel(10.0, 1e-12));
}

TEST_CASE("Patchiness compares pairs within looks with pairs across them, by hand") {
  // {6,4}, {9,1}, {3,7}: within, 81 of 135 pairs are of one kind; across, 138 of 300. ρ = (0.6 −
  // 0.46)/0.54.
  const Looks looks{{6, 4}, {9, 1}, {3, 7}};
  CHECK_THAT(patchiness(std::vector<Looks>{looks}).value(), WithinRel(0.14 / 0.54, 1e-12));
  CHECK_THAT(design_effect(looks), WithinRel(1 + 9 * 0.14 / 0.54, 1e-12));
}

TEST_CASE(
    "With equal looks the design effect is near Pearson's statistic over its degrees of freedom") {
  // Rao & Scott 1981, by hand for the same looks: X² = (0 + 9 + 9)/6 + (0 + 9 + 9)/4 = 7.5 over 2.
  // The two estimates differ a little, for Pearson's takes the pooled shares as if they were the
  // true ones.
  CHECK_THAT(design_effect(Looks{{6, 4}, {9, 1}, {3, 7}}), WithinRel(7.5 / 2, 0.15));
}

TEST_CASE("Patchiness is found again in simulated ground, and not where there is none") {
  std::mt19937_64 generator(23);
  const Shares shares{0.5, 0.3, 0.15, 0.05};
  for (const double rho : {0.05, 0.2}) {
    std::vector<Looks> stations;
    for (int i = 0; i < 200; ++i) stations.push_back(patchy_looks(shares, 4, 10, rho, generator));
    CHECK_THAT(patchiness(stations).value(), WithinAbs(rho, 0.02));
  }
  std::vector<Looks> even;
  for (int i = 0; i < 200; ++i) {
    Looks looks;
    for (int j = 0; j < 4; ++j) looks.push_back(look(shares, 10, generator));
    even.push_back(looks);
  }
  CHECK(patchiness(even).value() < 0.01);
}

TEST_CASE("Patchiness learned elsewhere widens the intervals of a station with one look") {
  const Looks elsewhere{{10, 0}, {2, 8}, {6, 4}};
  const double rho = patchiness(std::vector<Looks>{elsewhere, {{7, 3}}}).value();
  CHECK(rho > 0);
  CHECK(design_effect(Looks{{7, 3}}, rho) > 1);
  CHECK(design_effect(Looks{{1, 0}}, rho) == 1);  // one rock has nothing beside it to be like
}

TEST_CASE(
    "On patchy ground intervals hold what they say once patchiness is learned from all stations") {
  // Five stations of one to four looks of ten rocks, correlation 0.15. 300 rounds of five kinds;
  // standard error about 1 %.
  std::mt19937_64 generator(29);
  int with = 0, without = 0, all = 0;
  for (int round = 0; round < 300; ++round) {
    std::vector<Shares> truths;
    std::vector<Looks> stations;
    for (int station = 0; station < 5; ++station) {
      truths.push_back(dirichlet(Shares(5, 0.5), generator));
      stations.push_back(patchy_looks(truths.back(), 1 + station % 4, 10, 0.15, generator));
    }
    const double rho = patchiness(stations).value_or(0);
    const auto holds = [&](double effect) {
      Evidence evidence;
      evidence.classes = 5;
      evidence.looks = stations[1];
      const auto shares = share_estimates(share_posterior(evidence, effect));
      int within = 0;
      for (std::size_t i = 0; i < 5; ++i) {
        within +=
            shares[i].interval.lower <= truths[1][i] && truths[1][i] <= shares[i].interval.upper;
      }
      return within;
    };
    with += holds(design_effect(stations[1], rho));
    without += holds(1);
    all += 5;
  }
  CHECK_THAT(static_cast<double>(with) / all, WithinAbs(0.9, 0.03));
  CHECK(static_cast<double>(without) / all < 0.83);
}

TEST_CASE("A rock of a kind that makes up most of the ground is typical") {
  const auto label = commonness(ShareMarginals(counted({30, 5, 5})), 0);
  CHECK(label.label == Commonness::typical);
  CHECK(label.probability > 0.99);
}

TEST_CASE("A kind met once in a hundred is rare, and one in eight uncommon") {
  CHECK(commonness(ShareMarginals(counted({99, 1})), 1).label == Commonness::rare);
  CHECK(commonness(ShareMarginals(counted({70, 10})), 1).label == Commonness::uncommon);
}

TEST_CASE("The three labels' probabilities add up, and the shown one is the largest") {
  for (const std::int64_t met : {0, 1, 3, 8}) {
    const auto label = commonness(ShareMarginals(counted({10, met, 2})), 1);
    CHECK(label.probability >= label.probability_typical);
    CHECK(label.probability >= label.probability_rare);
    CHECK(label.probability_typical + label.probability_rare <= 1 + 1e-12);
    CHECK(label.probability >= 1.0 / 3);
  }
}

TEST_CASE("A label's probability is the part of the posterior that it holds") {
  auto evidence = Evidence{4, {{30, 6, 2, 1}}, {}, 0};
  const auto spoken = GENERATE(0, 1, 2);  // kinds: closed form, quadrature, sampled
  for (std::size_t kind = 0; kind < static_cast<std::size_t>(spoken); ++kind)
    evidence.shares.push_back({kind + 1, 0.1, 0.3, {}, 0, 0, 0.1});
  const auto posterior = share_posterior(evidence);
  const ShareMarginals shares(posterior);
  Generator generator(31);
  const auto draws = draw_shares(posterior, 4000, generator);
  for (std::size_t kind = 0; kind < 4; ++kind) {
    double typical = 0, rare = 0;
    for (std::size_t i = 0; i < draws.size(); ++i) {
      typical += draws[i][kind] >= 0.25 ? 1 : 0;
      rare += draws[i][kind] < 0.05 ? 1 : 0;
    }
    const auto label = commonness(shares, kind);
    const double noise = 0.055;  // four standard errors of 4000 draws less 2000, and to spare
    CHECK_THAT(label.probability_typical, WithinAbs(typical / 4000, noise));
    CHECK_THAT(label.probability_rare, WithinAbs(rare / 4000, noise));
  }
}

TEST_CASE("A kind is local where all other stations lack it, and everywhere where none does") {
  CHECK(reach({}) == Reach::not_known);
  CHECK(reach(Shares{0.1, 0.2}) == Reach::local_here);
  CHECK(reach(Shares{0.9, 0.2}) == Reach::in_places);
  CHECK(reach(Shares{0.9, 0.8}) == Reach::everywhere);
}

}  // namespace stonecall::estimate
