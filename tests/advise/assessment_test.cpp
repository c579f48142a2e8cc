#include "console/advise/assessment.hpp"

#include <cmath>

#include <catch2/catch.hpp>

#include "console/advise/way_back.hpp"
#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using Catch::Matchers::WithinAbs;
using test::clock;
using test::shared;

namespace {

using Events = std::vector<EventPtr>;

SampleTaken sample(std::string number, std::string rock, bool unselective = false) {
  SampleTaken taken;
  taken.number = std::move(number);
  taken.rock = std::move(rock);
  if (unselective) taken.unselective = true;
  return taken;
}

Events at_the_ford() {
  return {shared(1, 0, PlanGiven{test::small_plan()}, "BASE"), shared(2, 5, Arrival{"Ford"})};
}

advise::Assessment assess(const Events& events, double minute) {
  return advise::assess(*picture::fold(events), clock(minute).instant);
}

const advise::KindRow& row(const advise::Ground& ground, const std::string& rock) {
  for (const auto& each : ground.kinds) {
    if (each.rock == rock) return each;
  }
  FAIL("no row for " << rock);
  throw;
}

}  // namespace

TEST_CASE("an empty picture has no figures and breaks nothing") {
  const auto empty = advise::assess(picture::Picture{}, clock(0).instant);
  CHECK(empty.here.kinds.empty());
  CHECK_FALSE(empty.turn_back);
  CHECK_FALSE(empty.clock.station);
}

TEST_CASE("a kind is told by how common it is here and where else it is found") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 60}, {"marble", 60}, {"slate", 1}}, 121, {}}));
  const auto alone = assess(events, 10).here;
  CHECK(row(alone, "gneiss").label == "typical");
  CHECK(row(alone, "slate").label == "rare");
  CHECK(row(alone, "gneiss").reach.empty());  // nothing is known of any other station
  CHECK(row(alone, "quartzite").label.empty());

  events.push_back(shared(4, 30, Arrival{"Terrace"}));
  events.push_back(shared(5, 32, Tally{{{"gneiss", 60}, {"quartzite", 40}}, 100, {}}));
  events.push_back(shared(6, 33, Tally{{{"gneiss", 30}, {"slate", 10}}, 40, "Quarry"}));
  const auto now = assess(events, 35);
  CHECK(row(now.here, "gneiss").reach == "everywhere");
  CHECK(row(now.here, "quartzite").reach == "local here");
  CHECK(row(now.whole, "gneiss").reach.empty());
  const auto ford = advise::assess_ground(*picture::fold(events), "Ford", clock(35).instant);
  CHECK(row(ford, "marble").reach == "local here");
  CHECK(row(ford, "slate").reach == "in places");
}

TEST_CASE("a station left without a sample of its ordinary rock is told") {
  auto events = at_the_ford();
  CHECK_FALSE(assess(events, 6).here.no_typical_sample);  // no basis
  events.push_back(shared(3, 8, Tally{{{"gneiss", 60}, {"marble", 40}, {"slate", 1}}, 101, {}}));
  events.push_back(shared(4, 9, sample("1", "slate")));
  const auto now = assess(events, 10);
  CHECK(now.here.no_typical_sample == "gneiss");
  CHECK_FALSE(now.whole.no_typical_sample);
  events.push_back(shared(5, 11, sample("2", "marble")));  // typical too
  CHECK_FALSE(assess(events, 12).here.no_typical_sample);
}

TEST_CASE("without a count or a spoken share there is no basis for a share") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, sample("1", "slate")));
  const auto now = assess(events, 10);
  CHECK_FALSE(now.here.basis.any());
  CHECK_FALSE(row(now.here, "slate").share);
  CHECK_FALSE(now.here.unseen);
  CHECK(row(now.here, "slate").bagged == 1);
}

TEST_CASE("shares are the Dirichlet posterior of the kinds met and one class for the rest") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 7}, {"slate", 2}}, 10, {}}));
  const auto now = assess(events, 10);
  // Dirichlet(7.5, 2.5, 1.5): prior 1/2 each. Means a/A; the marginal of gneiss is Beta(7.5, 4).
  CHECK_THAT(row(now.here, "gneiss").share->mean, WithinAbs(7.5 / 11.5, 1e-12));
  CHECK_THAT(row(now.here, "slate").share->mean, WithinAbs(2.5 / 11.5, 1e-12));
  CHECK_THAT(now.here.other->mean, WithinAbs(1.5 / 11.5, 1e-12));
  // R 4.2.2: qbeta(c(.05, .95), 7.5, 4)
  CHECK_THAT(row(now.here, "gneiss").share->low, WithinAbs(0.415209108960859, 1e-12));
  CHECK_THAT(row(now.here, "gneiss").share->high, WithinAbs(0.857843694581735, 1e-12));
  CHECK_FALSE(row(now.here, "marble").share);
  CHECK(now.here.basis.counted == 10);
}

TEST_CASE("a chosen sample never changes the share of a kind") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 7}, {"slate", 2}}, 10, {}}));
  const auto before = assess(events, 20);
  for (std::uint32_t n = 0; n < 12; ++n)
    events.push_back(shared(10 + n, 9, sample(std::to_string(n), "slate")));
  const auto after = assess(events, 20);
  CHECK(row(after.here, "slate").share == row(before.here, "slate").share);
  CHECK(after.here.unseen->next_is_new == before.here.unseen->next_is_new);
  CHECK(after.here.basis.chosen_not_used == 12);
  CHECK(after.here.basis.counted == 10);
}

TEST_CASE("a kind known from the bag alone is a class like any other, however many are bagged") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 7}, {"slate", 2}}, 10, {}}));
  for (std::uint32_t n = 0; n < 12; ++n) {
    events.push_back(shared(10 + n, 9, sample(std::to_string(n), "marble")));
    const auto now = assess(events, 20);
    CHECK_THAT(row(now.here, "marble").share->mean, WithinAbs(0.5 / 12, 1e-12));
    CHECK_THAT(row(now.here, "gneiss").share->mean, WithinAbs(7.5 / 12, 1e-12));
    CHECK(now.here.unseen->kinds_met == 2);
  }
}

TEST_CASE("what is covered and the chance that the next rock is new add up to one") {
  const auto counts =
      GENERATE(std::vector<int>{10, 0, 0}, std::vector<int>{9, 1, 0}, std::vector<int>{7, 2, 1},
               std::vector<int>{1, 1, 1}, std::vector<int>{50, 2, 1}, std::vector<int>{2, 0, 0});
  auto events = at_the_ford();
  events.push_back(
      shared(3, 8,
             Tally{{{"gneiss", counts[0]}, {"slate", counts[1]}, {"marble", counts[2]}},
                   counts[0] + counts[1] + counts[2],
                   {}}));
  const auto unseen = assess(events, 10).here.unseen;
  REQUIRE(unseen);
  CAPTURE(counts);
  CHECK_THAT(unseen->coverage.mean + unseen->next_is_new.mean, WithinAbs(1, 1e-12));
  CHECK_THAT(unseen->coverage.low + unseen->next_is_new.high, WithinAbs(1, 1e-12));
  CHECK_THAT(unseen->coverage.high + unseen->next_is_new.low, WithinAbs(1, 1e-12));
}

TEST_CASE("an unselective sample counts as one rock looked at") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 7}, {"slate", 2}}, 10, {}}));
  events.push_back(shared(4, 9, sample("1", "slate", true)));
  const auto now = assess(events, 20);
  CHECK(now.here.basis.counted == 11);
  CHECK(row(now.here, "slate").counted == 3);
}

TEST_CASE(
    "what was counted elsewhere says nothing of this station, and all of the whole exercise") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 7}}, 10, {}}));
  events.push_back(shared(4, 30, Arrival{"Terrace"}));
  events.push_back(shared(5, 31, Tally{{{"slate", 10}}, 10, {}}));
  const auto now = assess(events, 40);
  CHECK(now.here.station == "Terrace");
  CHECK(now.here.basis.counted == 10);
  CHECK_FALSE(row(now.here, "gneiss").share);
  CHECK(now.whole.basis.counted == 20);
}

TEST_CASE("a kind said to be absent shows as such until it is met") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Sighting{"marble", false, {}}));
  CHECK(row(assess(events, 10).here, "marble").said_absent);
  events.push_back(shared(4, 9, Sighting{"marble", true, {}}));
  CHECK_FALSE(row(assess(events, 10).here, "marble").said_absent);
}

TEST_CASE("bagged, wanted and documented are counted by kind") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, sample("1", "marble")));
  events.push_back(shared(4, 9, sample("2", "marble")));
  const auto now = assess(events, 10);
  CHECK(row(now.here, "marble").bagged == 2);
  CHECK(row(now.here, "marble").wanted == 2);
  CHECK(row(now.here, "marble").documented == 0);
  CHECK(row(now.here, "gneiss").wanted == 0);
  CHECK(now.bagged == 2);
  CHECK(now.missing.size() == 2);
}

TEST_CASE("the clock shows time here against the allotment and the age of the last word") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, VoiceNote{"fine view", {}, {}}));
  const auto now = assess(events, 15);
  CHECK(now.clock.elapsed == std::chrono::minutes(15));
  CHECK(now.clock.station == "Ford");
  CHECK(now.clock.here == std::chrono::minutes(10));
  CHECK(now.clock.allotted_minutes == 30.0);
  CHECK(now.clock.word_age == std::chrono::minutes(7));
}

TEST_CASE(
    "the latest departure leaves time for the walk back, its margin, the link and the party's "
    "reaction") {
  auto plan = test::small_plan();
  plan.link = {30, 3};
  const Events events{shared(1, 0, PlanGiven{plan}, "BASE"), shared(2, 5, Arrival{"Ford"})};
  const auto back = assess(events, 10).turn_back;
  REQUIRE(back);
  // GeographicLib 2.1.2: echo "46 8 46.0045 8" | GeodSolve -i -p 6
  CHECK_THAT(back->distance_metres, WithinAbs(500.181131, 1e-5));
  const double walk = back->distance_metres / 50;  // 3 km/h is 50 m a minute
  CHECK_THAT(back->walk_minutes, WithinAbs(walk, 1e-9));
  const double latest = 120 - walk * 1.2;
  CHECK_THAT(static_cast<double>(back->latest_departure.count()) / 60'000, WithinAbs(latest, 1e-4));
  CHECK_THAT(static_cast<double>(back->latest_useful_call.count()) / 60'000,
             WithinAbs(latest - 3.5, 1e-4));
}

TEST_CASE("between stations turn-back is reckoned from the farther end of the walk") {
  auto events = at_the_ford();
  events.push_back(shared(3, 20, Departure{}));
  CHECK(assess(events, 22).turn_back->from == "Terrace");
  events.push_back(shared(4, 30, Arrival{"Terrace"}));
  events.push_back(shared(5, 40, Departure{}));
  CHECK(assess(events, 42).turn_back->from == "Terrace");
}

TEST_CASE(
    "who is under way for longer than the next stop takes may have gone past it: the farther stops "
    "count, as far as can have been walked") {
  auto plan = test::small_plan();
  auto quarry = plan.stations.back();
  quarry.station = "Quarry";
  quarry.position.latitude = 46.018;
  plan.stations.push_back(quarry);
  const Events events{shared(1, 0, PlanGiven{plan}, "BASE"), shared(2, 10, Arrival{"Ford"}),
                      shared(3, 20, Departure{})};
  const auto back_at = [&](double minute) { return assess(events, minute).turn_back; };
  // 3 km/h, 20 % margin; a minute of latitude here is some 1,853 m. Ford to Terrace: 10 minutes.
  CHECK(back_at(29)->from == "Terrace");
  CHECK_THAT(back_at(29)->walk_minutes, WithinAbs(20, 0.05));
  // Not farther than the fifteen minutes they have walked, and the ten from the Ford.
  CHECK(back_at(35)->from == "Quarry");
  CHECK_THAT(back_at(35)->walk_minutes, WithinAbs(25, 0.05));
  CHECK_THAT(back_at(60)->walk_minutes, WithinAbs(40, 0.05));
  auto latest = back_at(20)->latest_departure;
  for (double minute = 20; minute <= 110; minute += 0.5) {
    const auto now = back_at(minute)->latest_departure;
    CHECK(now <= latest);
    latest = now;
  }
}

TEST_CASE("back at base there is nothing to turn back from") {
  auto events = at_the_ford();
  events.push_back(shared(3, 50, Arrival{"BASE"}));
  CHECK_FALSE(assess(events, 55).turn_back);
}

TEST_CASE("the way back goes through the points the plan gives") {
  auto plan = test::small_plan();
  plan.stations[0].back = {{46.0045, 8.01, {}}};
  CHECK(advise::way_back(plan, "Ford").size() == 3);
  CHECK(advise::length_of(advise::legs_through(advise::way_back(plan, "Ford"))) > 1500);
  CHECK(advise::way_back(plan, "BASE").empty());
  CHECK(advise::way_back(plan, "Nowhere").empty());
}

TEST_CASE(
    "the way to the next stop of the plan goes through its points, any other way is straight") {
  auto plan = test::small_plan();
  plan.stations[1].way = {{46.006, 8.01, {}}};
  CHECK(advise::way_to(plan, "Ford", "Terrace").size() == 3);
  CHECK(advise::way_to(plan, "BASE", "Terrace").size() == 2);
  CHECK(advise::way_to(plan, "Ford", "Nowhere").empty());
}

TEST_CASE("pace starts from the plan's expectation and moves to the party's own record") {
  auto events = at_the_ford();
  const auto before = assess(events, 5).pace;
  REQUIRE(before);
  CHECK_THAT(before->rocks_per_minute.mean, WithinAbs(2, 1e-9));
  events.push_back(shared(3, 6, Tally{{{"gneiss", 200}}, 200, {}}));
  // Gamma(2 * 20 + 200, 20 + 20): 40 rocks in 20 minutes expected, 200 in 20 minutes seen.
  CHECK_THAT(assess(events, 25).pace->rocks_per_minute.mean, WithinAbs(240.0 / 40, 1e-9));
}

TEST_CASE("a spoken share far from the counts is named, and does not vouch for itself") {
  auto events = at_the_ford();
  events.push_back(shared(3, 8, Tally{{{"gneiss", 8}, {"slate", 2}}, 10, {}}));
  events.push_back(shared(4, 9, Share{"slate", {90, 96}, {}, {}, {}}, "FIELD-2"));
  events.push_back(shared(5, 9.5, Share{"gneiss", {70, 80}, {}, {}, {}}, "FIELD-1"));
  const auto now = assess(events, 20);
  REQUIRE(now.here.disagreements.size() == 1);
  const auto& one = now.here.disagreements.front();
  CHECK(one.rock == "slate");
  CHECK(one.caller == "FIELD-2");
  CHECK(one.said_low == Approx(0.90));
  // Two of ten counted, a caller who scatters by ten points: 93 % is beyond 99 % of what would be
  // said, and beyond Beta(2.5, 8.5) itself (R 4.2.2: qbeta(.995, 2.5, 8.5) = 0.5988).
  CHECK(one.counts_high > 0.6);
  CHECK(one.counts_high < 0.9);
}

TEST_CASE("a caller whose other shares were all as far off is known to be, and not named") {
  auto events = at_the_ford();
  for (std::uint32_t n = 0; n < 8; ++n)
    events.push_back(shared(10 + n, 7 + 0.1 * n, Tally{{{"gneiss", 7}, {"slate", 3}}, 10, {}}));
  for (std::uint32_t n = 0; n < 8; ++n)
    events.push_back(shared(30 + n, 8 + 0.1 * n, Share{"slate", {60, 64}, {}, {}, {}}, "FIELD-2"));
  CHECK(assess(events, 20).here.disagreements.empty());
}
