#include <algorithm>
#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "console/advise/assessment.hpp"
#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using advise::Advice;
using test::clock;
using test::shared;

namespace {

using Events = std::vector<EventPtr>;

Plan plan_with(std::vector<ExpectedShare> ford, std::vector<ExpectedShare> terrace) {
  Plan plan = test::small_plan();
  plan.documentation = {{}, false, false, {}};
  plan.stations[0].expected = std::move(ford);
  plan.stations[1].expected = std::move(terrace);
  return plan;
}

Events at_the_ford(Plan plan) {
  return {shared(1, 0, PlanGiven{std::move(plan)}, "BASE"), shared(2, 5, Arrival{"Ford"})};
}

SampleTaken sample(std::string number, std::string rock) {
  SampleTaken taken;
  taken.number = std::move(number);
  taken.rock = std::move(rock);
  return taken;
}

std::optional<Advice> advised(const Events& events, double minute) {
  return advise::assess_with_advice(*picture::fold(events), clock(minute).instant).advice;
}

}  // namespace

TEST_CASE("nothing is advised without a plan, on the way, or at base") {
  CHECK_FALSE(advised({shared(1, 5, Arrival{"Ford"})}, 10));
  auto events = at_the_ford(test::small_plan());
  REQUIRE(advised(events, 10));
  events.push_back(shared(3, 20, Departure{"Ford"}));
  CHECK_FALSE(advised(events, 22));
  events.push_back(shared(4, 40, Arrival{"BASE"}));
  CHECK_FALSE(advised(events, 41));
}

TEST_CASE("at a place that the plan does not know the return limit holds, and nothing is weighed") {
  auto events = at_the_ford(plan_with({{"marble", 50}}, {{"gneiss", 100}}));
  events.push_back(shared(3, 20, Arrival{"Quarry"}));
  const auto picture = picture::fold(events);
  const auto now = advise::assess_with_advice(*picture, clock(25).instant);
  // As far from base as the farther end of the way they were on.
  REQUIRE(now.turn_back);
  CHECK(now.turn_back->from == "Terrace");
  REQUIRE(now.advice);
  CHECK(now.advice->kind == Advice::Kind::ask);  // nothing was counted there
  CHECK_FALSE(now.advice->depart);

  events.push_back(shared(4, 26, Tally{{{"gneiss", 10}}, 10, {}}));
  const auto counted = advised(events, 27);
  CHECK(counted->kind == Advice::Kind::no_call);
  CHECK(counted->reason ==
        "The plan does not know this place, so the ways from here cannot be reckoned, nor stay "
        "weighed against move.");
  const auto at_limit = clock(0).instant + now.turn_back->latest_useful_call;
  CHECK(advise::assess_with_advice(*picture::fold(events), at_limit).advice->kind ==
        Advice::Kind::turn_back);

  // The first stop is already none of the plan's.
  const auto first =
      advise::assess(*picture::fold(Events{shared(1, 0, PlanGiven{plan_with({}, {})}, "BASE"),
                                           shared(2, 5, Arrival{"Quarry"})}),
                     clock(6).instant);
  REQUIRE(first.turn_back);
  CHECK(first.turn_back->from == "Ford");
}

TEST_CASE("where all that is wanted lies ahead, the party is told to move on") {
  // Of marble and slate, wanted, the plan and two counts find nothing here; ahead is half of each.
  Plan plan = plan_with({{"gneiss", 100}}, {{"marble", 50}, {"slate", 50}});
  plan.duration_minutes = 70;
  auto events = at_the_ford(plan);
  events.push_back(shared(3, 8, Tally{{{"gneiss", 20}}, 20, {}}));
  events.push_back(shared(4, 9, Tally{{{"gneiss", 20}}, 20, {}}));
  CHECK(advised(events, 10)->sentence ==
        "Bag one gneiss, the ordinary rock here, then move on to Terrace.");
  events.push_back(shared(5, 9.5, sample("1", "gneiss")));
  const auto advice = advised(events, 10);
  REQUIRE(advice);
  CHECK(advice->kind == Advice::Kind::move_on);
  CHECK(advice->best_elsewhere == "Terrace");
  CHECK(advice->p_best > 0.7);
  CHECK(advice->sentence == "Move on now to Terrace.");
}

TEST_CASE("the reasons end with what the plan set for the method") {
  Plan plan = test::small_plan();
  plan.method.confident = 0.8;
  plan.method.draws = 100;
  const auto advice = advised(at_the_ford(plan), 10);
  REQUIRE(advice);
  CHECK(advice->why.back() ==
        "Settings of the plan: a call from 80 % on, 100 draws, seed 1, prior of 0.5 rock a kind, "
        "typical from 25 %, rare below 5 %.");
}

TEST_CASE("kinds that nobody met or expects are no evidence of anything") {
  Plan plan = plan_with({{"gneiss", 60}, {"slate", 20}}, {{"marble", 50}});
  Plan wordy = plan;
  for (int i = 0; i < 20; ++i) wordy.vocabulary.push_back({"kind " + std::to_string(i), {}});
  const auto assessed = [](const Plan& given) {
    auto events = at_the_ford(given);
    events.push_back(shared(3, 8, Tally{{{"gneiss", 6}, {"slate", 4}}, 10, {}}));
    events.push_back(shared(4, 20, Arrival{"Terrace"}));
    events.push_back(shared(5, 25, Tally{{{"gneiss", 3}, {"slate", 6}}, 10, {}}));
    return advise::assess_with_advice(*picture::fold(events), clock(26).instant);
  };
  const auto few = assessed(plan), many = assessed(wordy);
  CHECK(*few.same_ground == Approx(*many.same_ground).epsilon(1e-12));
  CHECK(few.advice->plan_holds == Approx(many.advice->plan_holds).epsilon(1e-12));
  // What is wanted is no more to be found by the number of words for the rest.
  REQUIRE(few.advice->curve.size() == many.advice->curve.size());
  double few_gain = 0, many_gain = 0;
  for (std::size_t m = 0; m < few.advice->curve.size(); ++m) {
    few_gain += few.advice->curve[m].here.mean;
    many_gain += many.advice->curve[m].here.mean;
  }
  CHECK(many_gain == Approx(few_gain).epsilon(0.1));  // other draws, and the new kinds' own worth
}

TEST_CASE("where all that is wanted lies here, the party is told to stay") {
  auto events = at_the_ford(plan_with({{"marble", 50}, {"slate", 50}}, {{"gneiss", 100}}));
  events.push_back(shared(3, 8, Tally{{{"marble", 10}, {"slate", 10}}, 20, {}}));
  const auto advice = advised(events, 10);
  REQUIRE(advice);
  CHECK((advice->kind == Advice::Kind::stay_until || advice->kind == Advice::Kind::get_first));
  REQUIRE(advice->depart);
  CHECK(*advice->depart > clock(13).instant - clock(0).instant);
}

TEST_CASE("what only somebody standing there can tell is asked for before the weighing") {
  Plan plan = plan_with({{"gneiss", 100}}, {{"marble", 100}});
  plan.documentation.views = {View::after};
  auto events = at_the_ford(plan);
  events.push_back(shared(3, 8, sample("1", "gneiss")));
  const auto advice = advised(events, 10);
  REQUIRE(advice);
  CHECK(advice->kind == Advice::Kind::get_first);
  CHECK(advice->sentence.elapsed().find("sample 1") != std::string::npos);
}

TEST_CASE("a sample that nobody gave a number or a bag is asked for by its rock") {
  Plan plan = plan_with({}, {});
  plan.documentation = {{}, true, true, {}};
  auto events = at_the_ford(plan);
  SampleTaken taken;
  taken.rock = "marble";
  events.push_back(shared(3, 8, taken));
  const auto advice = advised(events, 10);
  REQUIRE(advice);
  CHECK_THAT(advice->sentence.elapsed(),
             Catch::Matchers::Contains("for sample without number or bag (marble):"));
}

TEST_CASE("near the return limit nothing else is advised") {
  auto events = at_the_ford(plan_with({{"marble", 50}, {"slate", 50}}, {{"gneiss", 100}}));
  events.push_back(shared(3, 8, Tally{{{"marble", 10}, {"slate", 10}}, 20, {}}));
  const auto picture = picture::fold(events);
  const auto back = advise::assess(*picture, clock(100).instant).turn_back;
  REQUIRE(back);
  const auto at_limit = clock(0).instant + back->latest_useful_call;
  const auto advice = advise::assess_with_advice(*picture, at_limit).advice;
  REQUIRE(advice);
  CHECK(advice->kind == Advice::Kind::turn_back);
}

TEST_CASE("counts that look as the plan expected keep its word, others take it away") {
  auto as_planned = at_the_ford(plan_with({{"gneiss", 80}, {"slate", 20}}, {{"marble", 100}}));
  CHECK(advised(as_planned, 6)->plan_holds == Approx(0.9));
  auto otherwise = as_planned;
  as_planned.push_back(shared(3, 8, Tally{{{"gneiss", 8}, {"slate", 2}}, 10, {}}));
  otherwise.push_back(shared(3, 8, Tally{{{"quartzite", 10}}, 10, {}}));
  CHECK(advised(as_planned, 10)->plan_holds > 0.9);
  const auto doubted = advised(otherwise, 10);
  CHECK(doubted->plan_holds < 0.1);
  CHECK(std::ranges::any_of(doubted->why, [](const std::string& line) {
    return line.starts_with("What was counted so far is unlike what the plan expected");
  }));
}

TEST_CASE(
    "whatever is heard, in whatever order, the advice is the same and keeps the return limit") {
  std::mt19937_64 random(20270518);
  const std::vector<std::string> rocks{"gneiss", "marble", "slate", "quartzite"};
  const auto any = [&](int below) { return std::uniform_int_distribution(0, below - 1)(random); };
  for (int round = 0; round < 25; ++round) {
    Plan plan = plan_with({{"gneiss", 60}, {"slate", 20}}, {{"marble", 50}});
    plan.method.draws = 100;
    auto events = at_the_ford(plan);
    const int minutes = 10 + any(100);
    for (std::uint32_t n = 3; n < 12; ++n) {
      const double when = 6 + any(minutes - 6);
      const auto& rock = rocks[static_cast<std::size_t>(any(4))];
      switch (any(3)) {
        case 0:
          events.push_back(shared(n, when, Tally{{{rock, 1 + any(9)}}, 10, {}}));
          break;
        case 1:
          events.push_back(shared(n, when, Share{rock, {20, 40}, 30, {}, "FIELD-2"}));
          break;
        default:
          events.push_back(shared(n, when, sample(std::to_string(n), rock)));
      }
    }
    const auto picture = picture::fold(events);
    const auto now = clock(minutes).instant;
    const auto assessed = advise::assess_with_advice(*picture, now);
    REQUIRE(assessed.advice);
    if (assessed.advice->depart && assessed.advice->kind != Advice::Kind::turn_back)
      CHECK(*assessed.advice->depart <= assessed.turn_back->latest_departure);
    CHECK(assessed.advice->p_best >= 0);
    CHECK(assessed.advice->p_best <= 1);

    std::ranges::shuffle(events, random);
    CHECK(advise::assess_with_advice(*picture::fold(events), now) == assessed);
  }
}

TEST_CASE("a plan of absurd size is weighed with fewer draws, not with more memory than there is") {
  Plan plan = plan_with({}, {});
  plan.duration_minutes = 1440;
  plan.method.draws = 100'000;
  for (int i = 0; i < 60; ++i) {
    plan.vocabulary.push_back({"kind " + std::to_string(i), {}});
    PlannedStation station;
    station.station = "Stop " + std::to_string(i);
    station.position = {46.01 + 0.001 * i, 8.0, {}};
    station.allotted_minutes = 5;
    plan.stations.push_back(station);
  }
  const auto advice = advised(at_the_ford(plan), 10);
  REQUIRE(advice);
  CHECK(std::isfinite(advice->p_best));
}
