#include "console/advise/plan_trust.hpp"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

using namespace stonecall::advise;

TEST_CASE("with nothing counted the plan is trusted as before") {
  CHECK(chance_plan_holds({}, 0.5, 0.9) == Approx(0.9));
  const std::vector<ExpectedAndCounted> stations{{{0.7, 0.3}, 10, {0, 0}}};
  CHECK(chance_plan_holds(stations, 0.5, 0.9) == Approx(0.9));
}

TEST_CASE("one rock moves the trust as worked out by hand") {
  // Expected 0.8 and 0.2, worth ten rocks, prior 1 each: P(first kind) is (1 + 8)/12 = 3/4 if the
  // plan holds, else 1/2. After one rock of the first kind: 0.5·3/4 / (0.5·3/4 + 0.5·1/2) = 3/5;
  // after one of the second kind: 1/3.
  const std::vector<ExpectedAndCounted> as_expected{{{0.8, 0.2}, 10, {1, 0}}};
  const std::vector<ExpectedAndCounted> not_expected{{{0.8, 0.2}, 10, {0, 1}}};
  CHECK(chance_plan_holds(as_expected, 1, 0.5) == Approx(0.6).epsilon(1e-12));
  CHECK(chance_plan_holds(not_expected, 1, 0.5) == Approx(1.0 / 3).epsilon(1e-12));
}

TEST_CASE("counts that contradict the plan take the trust away, more of them more") {
  double last = 1;
  for (const double rocks : {1.0, 3.0, 10.0, 30.0}) {
    const std::vector<ExpectedAndCounted> stations{{{0.9, 0.1, 0}, 10, {0, 0, rocks}}};
    const double chance = chance_plan_holds(stations);
    CHECK(chance < last);
    last = chance;
  }
  CHECK(last < 0.1);
}

TEST_CASE("the chance stays a chance under extreme counts") {
  std::mt19937_64 random(71);
  std::uniform_real_distribution<double> exponent(-6, 9), uniform;
  for (int i = 0; i < 200; ++i) {
    std::vector<ExpectedAndCounted> stations(3);
    for (auto& station : stations) {
      station.sureness = std::pow(10, exponent(random));
      const double share = uniform(random);
      station.expected = {share, 1 - share, 0};
      station.counted = {std::pow(10, exponent(random)), 0, std::pow(10, exponent(random))};
    }
    const double chance = chance_plan_holds(stations);
    CHECK(chance >= 0);
    CHECK(chance <= 1);
  }
}
