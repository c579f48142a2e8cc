#include "console/estimate/intervals.hpp"

#include <cmath>

#include <catch2/catch.hpp>

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;

using Binomial = Estimate<Interval> (*)(std::int64_t, std::int64_t, double);

}  // namespace

TEST_CASE("Intervals for seven of ten, worked by hand") {
  // Wilson 1927 with z = 1.959964: (7 + 1.920729 ∓ 1.959964·√(7·0.3 + 0.960365))/(10 + 3.841459).
  const auto interval = wilson(7, 10, 0.95).value();
  CHECK_THAT(interval.lower, WithinAbs(0.39678, 1e-5));
  CHECK_THAT(interval.upper, WithinAbs(0.89221, 1e-5));
}

TEST_CASE("With nothing counted a share may be anything") {
  CHECK(wilson(0, 0, 0.9).value() == Interval{0, 1});
  CHECK(clopper_pearson(0, 0, 0.9).value() == Interval{0, 1});
  CHECK(jeffreys_keeping_ends(0, 0, 0.9).value() == Interval{0, 1});
  CHECK(none_met_upper(0, 0.95).value() == 1);
  CHECK(rule_of_three(0).value() == 1);
  CHECK(wilson_lower(0, 0, 0.95).value() == 0);
}

TEST_CASE("What is not a count or not a confidence has no interval") {
  const auto interval = GENERATE(Binomial{wilson}, Binomial{clopper_pearson}, Binomial{jeffreys},
                                 Binomial{jeffreys_keeping_ends});
  CHECK(interval(-1, 10, 0.9).error() == NoBasis::not_possible);
  CHECK(interval(11, 10, 0.9).error() == NoBasis::not_possible);
  CHECK(interval(5, 10, 0).error() == NoBasis::not_possible);
  CHECK(interval(5, 10, 1).error() == NoBasis::not_possible);
  CHECK(interval(5, 10, std::nan("")).error() == NoBasis::not_possible);
}

TEST_CASE("An interval holds the counted share, mirrors it, and narrows with every doubling") {
  const auto interval =
      GENERATE(Binomial{wilson}, Binomial{clopper_pearson}, Binomial{jeffreys_keeping_ends});
  for (const std::int64_t n : {1, 2, 7, 30, 1000}) {
    for (const std::int64_t met : {std::int64_t{0}, n / 3, n}) {
      const double share = static_cast<double>(met) / static_cast<double>(n);
      const auto found = interval(met, n, 0.9).value();
      CHECK(found.lower <= share);
      CHECK(share <= found.upper);
      const auto mirrored = interval(n - met, n, 0.9).value();
      CHECK_THAT(mirrored.lower, WithinAbs(1 - found.upper, 1e-12));
      const auto twice = interval(2 * met, 2 * n, 0.9).value();
      CHECK(twice.upper - twice.lower < found.upper - found.lower);
    }
  }
}

TEST_CASE("Clopper-Pearson never covers less than it says") {
  // Exact coverage, by summing the binomial over all outcomes.
  const std::int64_t n = 12;
  for (const double p : {0.02, 0.1, 0.37, 0.5, 0.81}) {
    double covered = 0, probability = std::pow(1 - p, n);
    for (std::int64_t k = 0; k <= n; ++k) {
      const auto interval = clopper_pearson(k, n, 0.9).value();
      if (interval.lower <= p && p <= interval.upper) covered += probability;
      probability *= static_cast<double>(n - k) / static_cast<double>(k + 1) * p / (1 - p);
    }
    CHECK(covered >= 0.9);
  }
}

TEST_CASE("A one-sided lower limit is the lower end of the wider two-sided interval") {
  CHECK_THAT(wilson_lower(12, 100, 0.95).value(), WithinAbs(wilson(12, 100, 0.90)->lower, 1e-12));
  CHECK(wilson_lower(0, 20, 0.95).value() == 0);
  CHECK_THAT(wilson_lower(5, 20, 0.05).value(), WithinAbs(wilson(5, 20, 0.90)->upper, 1e-12));
}

TEST_CASE("A point count of 10 percent in 400 points is good to 3 percent") {
  // van der Plas & Tobi 1965: 2·√(10·90/400) = 3 by hand.
  CHECK_THAT(point_count_two_sigma_percent(10, 400).value(), WithinAbs(3, 1e-12));
  CHECK(point_count_two_sigma_percent(10, 0).error() == NoBasis::not_possible);
  CHECK(point_count_two_sigma_percent(101, 10).error() == NoBasis::not_possible);
}

TEST_CASE("Intervals that hold together are wider than each alone") {
  const std::vector<std::int64_t> counts{56, 72, 73, 59, 62, 87, 58};
  const auto together = goodman(counts, 0.95).value();
  for (std::size_t i = 0; i < counts.size(); ++i) {
    const auto alone = wilson(counts[i], 467, 0.95).value();
    CHECK(together[i].lower < alone.lower);
    CHECK(together[i].upper > alone.upper);
  }
}

TEST_CASE("Simultaneous intervals need two kinds and something counted") {
  CHECK(goodman(std::vector<std::int64_t>{5}, 0.9).error() == NoBasis::not_possible);
  CHECK(goodman(std::vector<std::int64_t>{5, -1}, 0.9).error() == NoBasis::not_possible);
  CHECK(goodman(std::vector<std::int64_t>{0, 0}, 0.9).error() == NoBasis::nothing_counted);
  CHECK(sison_glaz(std::vector<std::int64_t>{5}, 0.9).error() == NoBasis::not_possible);
  CHECK(sison_glaz(std::vector<std::int64_t>{0, 0}, 0.9).error() == NoBasis::nothing_counted);
}

TEST_CASE("Simultaneous intervals stay within zero and one for lopsided counts") {
  const std::vector<std::int64_t> counts =
      GENERATE(std::vector<std::int64_t>{1, 0}, std::vector<std::int64_t>{1, 1, 1},
               std::vector<std::int64_t>{100000, 1, 0, 0},
               std::vector<std::int64_t>{1000000000, 1000000000});
  for (const auto method : {goodman, sison_glaz}) {
    const auto intervals = method(counts, 0.9);
    if (!intervals) continue;
    for (const auto& interval : *intervals) {
      CHECK((0 <= interval.lower && interval.lower <= interval.upper && interval.upper <= 1));
    }
  }
}

}  // namespace stonecall::estimate
