#include "console/estimate/diversity.hpp"

#include <cmath>
#include <numeric>
#include <random>
#include <vector>

#include <catch2/catch.hpp>

#include "console/estimate/richness.hpp"

// How varied the ground is, with what it may be. The values of even ground are checked against
// outside figures in tests/reference_values.
namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;
using List = std::vector<std::int64_t>;
using Generator = std::mt19937_64;

std::vector<double> dirichlet(const std::vector<double>& alpha, Generator& generator) {
  std::vector<double> shares;
  double sum = 0;
  for (const double a : alpha) {
    shares.push_back(std::gamma_distribution<double>(a)(generator));
    sum += shares.back();
  }
  for (double& share : shares) share /= sum;
  return shares;
}

/// A look at rocks of one patch of a ground.
List look(const std::vector<double>& ground, double patchiness, int rocks, Generator& generator) {
  auto patch = ground;
  if (patchiness > 0) {
    for (double& share : patch) share *= (1 - patchiness) / patchiness;
    patch = dirichlet(patch, generator);
  }
  List counts(ground.size(), 0);
  std::discrete_distribution<std::size_t> next(patch.begin(), patch.end());
  for (int i = 0; i < rocks; ++i) ++counts[next(generator)];
  return counts;
}

double order_1(const std::vector<double>& shares) {
  double entropy = 0;
  for (const double p : shares) entropy -= p > 0 ? p * std::log(p) : 0;
  return std::exp(entropy);
}

double order_2(const std::vector<double>& shares) {
  return 1 / std::inner_product(shares.begin(), shares.end(), shares.begin(), 0.0);
}

bool holds(const HillNumber& number, double truth) {
  return number.interval.lower <= truth && truth <= number.interval.upper;
}

double width(const HillNumber& number) {
  return number.interval.upper - number.interval.lower;
}

}  // namespace

TEST_CASE("how varied the ground is has no basis without two rocks of which two are alike") {
  CHECK(ground_diversity({}, 0).error() == NoBasis::nothing_counted);
  CHECK(ground_diversity({{0, 0}}, 0).error() == NoBasis::nothing_counted);
  CHECK(ground_diversity({{0, 1}}, 0).error() == NoBasis::too_few_counted);
  CHECK(ground_diversity({{1, 0, 1}, {0, 1, 0}}, 0).error() == NoBasis::all_seen_once);
  CHECK(ground_diversity({{1, 0}, {1, 0}}, 0).has_value());
}

TEST_CASE("how varied the ground is takes no impossible figures") {
  CHECK(ground_diversity({{3, -1}}, 0).error() == NoBasis::not_possible);
  CHECK(ground_diversity({{3, 1}}, -0.1).error() == NoBasis::not_possible);
  CHECK(ground_diversity({{3, 1}}, 1.1).error() == NoBasis::not_possible);
  CHECK(ground_diversity({{3, 1}}, std::nan("")).error() == NoBasis::not_possible);
  CHECK(ground_diversity({{3, 1}}, 0, 1).error() == NoBasis::not_possible);
  CHECK(ground_diversity({{3, 1}}, 0, 0).error() == NoBasis::not_possible);
}

TEST_CASE("one kind met often is not shown as certainty that there is no other") {
  // A kind of the share u = 1 - 0.1^(1/14) = 0.1517 is missed by 14 rocks one time in ten. With it
  // the entropy is 0.4256 nats, exp of it 1.5305; 1 / (u^2 + (1 - u)^2) is 1.3465 (by hand).
  const auto varied = ground_diversity({{14}}, 0, 0.9).value();
  CHECK(varied.common.value == 1);
  CHECK(varied.common.interval.lower == 1);
  CHECK_THAT(varied.common.interval.upper, WithinAbs(1.5305, 2e-4));
  CHECK(varied.dominant.value == 1);
  CHECK_THAT(varied.dominant.interval.upper, WithinAbs(1.3465, 2e-4));
}

TEST_CASE("the number of kinds is the one shown elsewhere: Chao1 with its interval") {
  const List counts{12, 7, 4, 2, 2, 1, 1, 1};
  const auto varied = ground_diversity({counts}, 0.1).value();
  const auto chao = chao1_bias_corrected(counts).value();
  CHECK(varied.kinds.value == chao.value);
  CHECK(varied.kinds.interval == chao1_interval(counts, chao, shown_confidence).value());
}

TEST_CASE("the same looks and seed give the same figures, another seed nearly") {
  const Looks looks{{5, 3, 1, 1, 0}, {2, 6, 0, 1, 1}};
  const auto once = ground_diversity(looks, 0.1).value(),
             again = ground_diversity(looks, 0.1).value();
  CHECK(once.common.value == again.common.value);
  CHECK(once.common.interval == again.common.interval);
  CHECK(once.dominant.interval == again.dominant.interval);
  const auto other = ground_diversity(looks, 0.1, shown_confidence, 99).value();
  CHECK(other.common.interval != once.common.interval);
  CHECK_THAT(other.common.value, WithinRel(once.common.value, 0.03));
  CHECK_THAT(width(other.common), WithinRel(width(once.common), 0.2));
}

TEST_CASE("looks of even ground count as one look, kinds not met as none") {
  const auto apart = ground_diversity({{5, 3, 0, 1, 1}, {2, 6, 0, 1, 1}}, 0).value();
  const auto together = ground_diversity({{7, 9, 2, 2}}, 0).value();
  CHECK(apart.common.interval == together.common.interval);
  CHECK(apart.dominant.value == together.dominant.value);
}

TEST_CASE("patchy ground is less sure, and more varied than its looks make it seem") {
  const Looks looks{{6, 3, 1, 0, 0}, {0, 1, 2, 6, 1}};
  const auto even = ground_diversity(looks, 0).value(),
             patchy = ground_diversity(looks, 0.3).value();
  CHECK(width(patchy.common) > 1.2 * width(even.common));
  CHECK(width(patchy.dominant) > 1.2 * width(even.dominant));
  CHECK(patchy.common.value > even.common.value);
}

TEST_CASE("more confidence is a wider interval") {
  const Looks looks{{6, 3, 1, 2, 0}};
  const auto half = ground_diversity(looks, 0, 0.5).value(),
             most = ground_diversity(looks, 0, 0.99).value();
  CHECK(half.common.interval.lower > most.common.interval.lower);
  CHECK(half.common.interval.upper < most.common.interval.upper);
  CHECK(half.common.value == most.common.value);
}

TEST_CASE("any looks give figures in order, within their intervals, or no basis") {
  Generator generator(20270611);
  for (int i = 0; i < 300; ++i) {
    const auto kinds = std::uniform_int_distribution<std::size_t>(1, 9)(generator);
    Looks looks;
    for (int l = std::uniform_int_distribution<int>(1, 4)(generator); l > 0; --l) {
      List counts;
      for (std::size_t k = 0; k < kinds; ++k)
        counts.push_back(static_cast<std::int64_t>(
            std::geometric_distribution<int>(i % 5 == 0 ? 0.01 : 0.5)(generator)));
      looks.push_back(counts);
    }
    const double patchiness = i % 3 == 0 ? 0 : i % 7 == 0 ? 1 : 0.05 * (i % 11);
    const auto varied = ground_diversity(looks, patchiness);
    CAPTURE(i, looks, patchiness);
    if (!varied) continue;
    CHECK(varied->kinds.value >= varied->common.value);
    CHECK(varied->common.value >= varied->dominant.value);
    for (const auto* number : {&varied->kinds, &varied->common, &varied->dominant}) {
      CHECK(number->interval.lower >= 1);
      CHECK(number->interval.lower <= number->value);
      CHECK(number->value <= number->interval.upper);
      CHECK(std::isfinite(number->interval.upper));
    }
  }
}

// Not of even ground alone: the last one's rocks lie in patches, and the interval that takes them
// as picked singly is the counter-check. Far more grounds in tests/benchmarks/calibration.cpp.
TEST_CASE("nine of ten intervals hold how varied the ground is, also where it is patchy") {
  Generator generator(20270518);
  constexpr int kGrounds = 400;
  const double patchiness = GENERATE(0.0, 0.15);
  const std::vector<double> alpha(10, 1.0);
  int of_1 = 0, of_2 = 0, of_1_as_if_even = 0;
  for (int i = 0; i < kGrounds; ++i) {
    const auto ground = dirichlet(alpha, generator);
    Looks looks;
    for (int l = 0; l < 8; ++l) looks.push_back(look(ground, patchiness, 10, generator));
    const auto varied = ground_diversity(looks, patchiness).value();
    of_1 += holds(varied.common, order_1(ground));
    of_2 += holds(varied.dominant, order_2(ground));
    of_1_as_if_even += holds(ground_diversity(looks, 0)->common, order_1(ground));
  }
  CHECK(of_1 > 0.86 * kGrounds);
  CHECK(of_1 < 0.97 * kGrounds);
  CHECK(of_2 > 0.86 * kGrounds);
  CHECK(of_2 < 0.97 * kGrounds);
  if (patchiness > 0) CHECK(of_1_as_if_even < 0.75 * kGrounds);
}

}  // namespace stonecall::estimate
