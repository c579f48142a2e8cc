#include "console/debrief/look_back.hpp"

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "protocol/log.hpp"
#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::test;

namespace {

protocol::Tally ten(int gneiss) {
  return {{{"gneiss", gneiss}, {"slate", 10 - gneiss}}, 10, {}};
}

}  // namespace

TEST_CASE("a call is looked back on with what had been received when it was sent") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, ten(8));
  exercise.say(14, ten(2), "FIELD-1", 6);  // said before the call, received after it
  exercise.say(15, call("Count ten more."), "BASE");
  const auto back = exercise.look_back();
  REQUIRE(back.calls.size() == 1);
  CHECK(back.calls[0].station == "Ford");
  CHECK(back.calls[0].then.here.basis.counted == 10);
  CHECK(back.calls[0].on_the_way == 1);
  CHECK(debrief::stop_at(back, "Ford")->ground.basis.counted == 20);
}

TEST_CASE("what an adviser says himself is no word from the field that is on its way") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(14, protocol::Remark{"They sound tired.", {}, true}, "WREN", 3);
  exercise.say(15, call("Count ten more."), "WREN", 0.05);  // nobody whom the plan names
  const auto back = exercise.look_back();
  REQUIRE(back.calls.size() == 1);
  CHECK(back.calls[0].on_the_way == 0);
}

TEST_CASE("a sender whose clock is ahead hides no word that is on its way") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(17, ten(8), "FIELD-2", -4);  // received before it was said, by that clock
  exercise.say(14, ten(2), "FIELD-1", 6);
  exercise.say(15, call("Count ten more."), "BASE");
  const auto back = exercise.look_back();
  REQUIRE(back.calls.size() == 1);
  CHECK(back.calls[0].on_the_way == 1);
}

TEST_CASE("what a sample lacked when the call was made is not what it lacks now") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("8", "gneiss"));
  auto said = call("After picture of eight.");
  said.sample = "8";
  exercise.say(15, said, "BASE");
  exercise.say(17, protocol::Photo{"8", protocol::View::after, {}});
  const auto back = exercise.look_back();
  CHECK(std::ranges::count(back.calls[0].sample_lacked, picture::Gap::after) == 1);
  REQUIRE(back.calls[0].lacked.size() == 1);
  CHECK(back.calls[0].lacked[0].starts_with("8 lacks stereo pair"));
}

TEST_CASE("a call is advised once more with what came to be known after it") {
  auto plan = small_plan();
  plan.documentation = {{}, false, false, {}};
  plan.duration_minutes = 80;
  plan.stations[0].expected = {{"marble", 60}, {"slate", 40}};
  plan.stations[1].expected = {{"gneiss", 100}};
  Exercise exercise(plan);
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, call("What is there?"), "BASE");
  // The plan has them the wrong way round: what is wanted lies at the Terrace.
  for (int minute = 13; minute < 20; ++minute)
    exercise.say(minute, protocol::Tally{{{"gneiss", 20}}, 20, {}});
  exercise.say(40, protocol::Departure{"Ford"});
  exercise.say(48, protocol::Arrival{"Terrace"});
  exercise.say(50, protocol::Tally{{{"marble", 12}, {"slate", 8}}, 20, {}});
  const auto back = exercise.look_back();
  REQUIRE(back.calls[0].then.advice);
  CAPTURE(back.calls[0].then.advice->sentence.elapsed(),
          back.calls[0].advised_at_the_end->sentence.elapsed());
  CHECK(back.calls[0].then.advice->kind == advise::Advice::Kind::stay_until);
  REQUIRE(back.calls[0].advised_at_the_end);
  CHECK(back.calls[0].advised_at_the_end->sentence.elapsed().ends_with("then move on to Terrace."));
  CHECK(back.calls[0].best_in_hindsight.value() <= clock(18).instant);
}

TEST_CASE("where nothing came to be known later hindsight weighs as was weighed then") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, ten(8));
  exercise.say(12, call("Stay."), "BASE");
  const auto back = exercise.look_back();
  REQUIRE(back.calls[0].then.advice);
  REQUIRE(back.calls[0].advised_at_the_end);
  CHECK(back.calls[0].advised_at_the_end->curve == back.calls[0].then.advice->curve);
}

TEST_CASE("without times in the plan arrivals follow from walking and staying") {
  // 500 m at 3 km/h are ten minutes; then thirty are allotted.
  const auto arrivals = debrief::planned_arrivals(small_plan());
  REQUIRE(arrivals.size() == 2);
  CHECK(std::chrono::abs(arrivals[0] - std::chrono::minutes(10)) < std::chrono::seconds(5));
  CHECK(std::chrono::abs(arrivals[1] - std::chrono::minutes(50)) < std::chrono::seconds(10));

  auto plan = small_plan();
  plan.stations[0].arrive_minutes = 20;
  CHECK(debrief::planned_arrivals(plan)[0] == std::chrono::minutes(20));
  CHECK(std::chrono::abs(debrief::planned_arrivals(plan)[1] - std::chrono::minutes(60)) <
        std::chrono::seconds(10));
}

TEST_CASE("stations come in the plan's order, then those it does not know; the base is none") {
  Exercise exercise;
  exercise.say(0, protocol::Arrival{"BASE"});
  exercise.say(1, protocol::Departure{});
  exercise.say(10, protocol::Arrival{"Quarry"});
  exercise.say(20, protocol::Departure{});
  exercise.say(30, protocol::Arrival{"Terrace"});
  const auto back = exercise.look_back();
  std::vector<std::string> names;
  for (const auto& stop : back.stops) names.push_back(stop.station);
  CHECK(names == std::vector<std::string>{"Ford", "Terrace", "Quarry"});
  CHECK_FALSE(back.stops[2].planned_arrival);
  CHECK(back.stops[2].stayed == std::chrono::minutes(10));
  CHECK(back.stops[0].stays.empty());
}

TEST_CASE("a log without a plan is looked back on as far as it goes") {
  std::vector<EventPtr> events{shared(1, 3, protocol::Arrival{"Ford"}),
                               shared(2, 5, sample("1", "gneiss")),
                               shared(3, 6, call("Stay."), "BASE")};
  const auto back = debrief::look_back({"no_plan.jsonl", events, {}});
  CHECK(back.start == clock(3).instant);
  CHECK(back.last.bagged == 1);
  REQUIRE(back.calls.size() == 1);
  CHECK_FALSE(back.calls[0].then.advice);
}

TEST_CASE("one fold from call to call knows what a fold of its own would know at each") {
  const auto log = protocol::read_log_file(STONECALL_REPLAY_LOGS "/varrow_rim.jsonl");
  REQUIRE(log);
  const auto back = debrief::look_back({"varrow_rim.jsonl", log->events, log->faults});
  REQUIRE(back.calls.size() > 10);
  for (const auto& made : back.calls) {
    const auto at = back.picture->calls[made.call].origin.at;
    CAPTURE(back.picture->calls[made.call].call.text);
    const auto known = picture::fold(picture::known_by(log->events, at));
    CHECK(made.then == advise::assess_with_advice(*known, at));
  }
}
