#include "console/advise/asking.hpp"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "tests/advise/made_up_journey.hpp"

using namespace stonecall::advise;
using Catch::Matchers::WithinAbs;

namespace {

/// Two grounds are possible: in one the wanted kind is here, in the other it is not. Two departures
/// are valued: now and one later.
struct TwoGrounds {
  std::vector<Draw> draws;
  Departure departure;
};

TwoGrounds two_grounds(double share_if_here, float gain_if_here) {
  TwoGrounds made;
  made.draws.assign(1000, Draw{{0, 1}, {}, 2, 4});
  made.departure.earliest = 0;
  made.departure.latest = 6;
  made.departure.table = {1000, 7, std::vector<float>(7000, 0.f)};
  for (std::size_t d = 0; d < 1000; ++d) {
    const bool is_here = d % 2 == 0;
    if (is_here) made.draws[d].here = {share_if_here, 1 - share_if_here};
    for (std::size_t m = 0; m < 7; ++m)
      made.departure.table.gains[d * 7 + m] = is_here && m == 6 ? gain_if_here
                                              : m == 6          ? -1.f
                                                                : 0.f;
  }
  made.departure.crossing.resize(7);
  return made;
}

}  // namespace

TEST_CASE("a tally is worth what deciding after it gains") {
  // By hand. The kind is here (share q) or not, with chance 1/2 each; staying gains 0.9 if it is
  // and −1 if not, so that without a tally the party leaves (0 against −0.05). A tally of ten that
  // shows the kind settles it; that happens with chance ½(1 − (1 − q)^10). After none of it staying
  // is worse still. Worth: 0.9·½(1 − (1 − q)^10).
  const double q = 0.2;
  TwoGrounds made = two_grounds(q, 0.9f);
  std::mt19937_64 random(1);
  const auto worth = worth_of_asking(made.departure, made.draws, {10, 1, 20000}, random);
  const double seen = 0.5 * (1 - std::pow(1 - q, 10));
  // Standard error of the simulated chance 0.0035: four of them.
  CHECK_THAT(worth.p_changes, WithinAbs(seen, 0.014));
  CHECK_THAT(worth.gain, WithinAbs(0.9 * seen, 0.013));
}

TEST_CASE("a tally that cannot change the departure is worth nothing") {
  TwoGrounds made = two_grounds(0.2, -2);
  std::mt19937_64 random(1);
  const auto worth = worth_of_asking(made.departure, made.draws, {10, 1, 500}, random);
  CHECK(worth.gain == 0);
  CHECK(worth.p_changes == 0);
  CHECK_FALSE(worth.worth_it());
}

TEST_CASE(
    "more rocks in the tally never make it worth less, by more than the noise of the simulation") {
  TwoGrounds made = two_grounds(0.1, 0.9f);
  double last = 0;
  for (const int rocks : {1, 5, 10, 40}) {
    std::mt19937_64 random(7);
    const auto worth = worth_of_asking(made.departure, made.draws, {rocks, 1, 4000}, random);
    CHECK(worth.gain >= last - 0.02);
    last = worth.gain;
  }
}

TEST_CASE("an answer that comes after the best time to leave costs what waiting for it loses") {
  // Leaving now is worth 0.3 more than at any later minute but the last, whatever the ground.
  TwoGrounds made = two_grounds(0.2, 0.9f);
  for (std::size_t d = 0; d < 1000; ++d) made.departure.table.gains[d * 7] += 0.3f;
  std::mt19937_64 random(1);
  const auto at_once = worth_of_asking(made.departure, made.draws, {10, 1, 2000, 0}, random);
  CHECK(at_once.gain > 0);
  random.seed(1);
  const auto waiting = worth_of_asking(made.departure, made.draws, {10, 1, 2000, 3}, random);
  // Waiting loses 0.3 wherever the tally does not change the mind: half the time at least.
  CHECK(waiting.gain < at_once.gain - 0.15);
  CHECK(waiting.p_changes == at_once.p_changes);
  random.seed(1);
  const auto too_late = worth_of_asking(made.departure, made.draws, {10, 1, 2000, 7}, random);
  CHECK(too_late.gain == 0);
  CHECK_FALSE(too_late.worth_it());
}

TEST_CASE("nothing to decide, nothing to ask") {
  Departure late;
  late.late = true;
  std::mt19937_64 random(1);
  CHECK_FALSE(worth_of_asking(late, {}, {}, random).worth_it());
}

TEST_CASE("ground without any rocks has nothing to count") {
  TwoGrounds made = two_grounds(0.2, 0.9f);
  for (Draw& draw : made.draws) draw.here = {0, 0};
  std::mt19937_64 random(1);
  const auto worth = worth_of_asking(made.departure, made.draws, {10, 1, 100}, random);
  CHECK(worth.gain == 0);
  CHECK(worth.p_changes == 0);
}

TEST_CASE("the worth of asking is never below nothing on made-up journeys") {
  std::mt19937_64 random(59);
  for (int i = 0; i < 10; ++i) {
    const MadeUp made = made_up(5, 80, 2, 60, random);
    const auto departure = *best_departure(made.kinds, made.draws, made.journey);
    const auto worth = worth_of_asking(departure, made.draws, {10, 1, 50}, random);
    CHECK(worth.gain >= 0);
    CHECK(worth.cost >= 0);
    CHECK(std::isfinite(worth.gain + worth.cost));
    CHECK(worth.p_changes <= 1);
  }
}
