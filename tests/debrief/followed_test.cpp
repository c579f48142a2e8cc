#include "console/debrief/followed.hpp"

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::test;
using debrief::Followed;

namespace {

Followed after_the_call(const Exercise& exercise) {
  const auto picture = picture::fold(exercise.events());
  REQUIRE(picture->calls.size() == 1);
  return debrief::followed(*picture, picture->calls[0], clock(100).instant);
}

}  // namespace

TEST_CASE("what followed a call is what the party did until it next left a station") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("1", "gneiss"));
  exercise.say(15, call("Get one marble before moving."), "BASE");
  exercise.say(18, sample("2", "marble"));
  exercise.say(19, protocol::Tally{{{"gneiss", 7}, {"slate", 3}}, 10, {}});
  exercise.say(25, protocol::Departure{});
  exercise.say(35, protocol::Arrival{"Terrace"});
  exercise.say(36, sample("3", "quartzite"));
  const Followed after = after_the_call(exercise);
  CHECK(after.station == "Ford");
  CHECK(after.left == clock(25).instant);
  CHECK(after.samples == std::vector<std::size_t>{1});
  CHECK(after.looks.size() == 1);
  CHECK(after.new_kinds == std::vector<std::string>{"marble", "slate"});
}

TEST_CASE("a sample photographed before a call and bagged after it was bagged after it") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, protocol::Photo{"1", protocol::View::down_sun, {}});
  exercise.say(13, protocol::Photo{"2", protocol::View::down_sun, {}});
  exercise.say(14, sample("2", "gneiss"));
  exercise.say(15, call("Bag it."), "BASE");
  exercise.say(18, sample("1", "marble"));
  exercise.say(25, protocol::Departure{});
  exercise.say(35, protocol::Arrival{"Terrace"});
  CHECK(after_the_call(exercise).samples == std::vector<std::size_t>{0});
}

TEST_CASE("after a call on the way comes the stay at the next station, not the way home") {
  Exercise exercise;
  exercise.say(0, protocol::Arrival{"BASE"});
  exercise.say(1, protocol::Departure{});
  exercise.say(5, call("Count ten first."), "BASE");
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("1", "gneiss"));
  exercise.say(30, protocol::Departure{});
  exercise.say(40, protocol::Arrival{"BASE"});
  const Followed after = after_the_call(exercise);
  CHECK(after.station == "Ford");
  CHECK(after.left == clock(30).instant);
  CHECK(after.samples.size() == 1);
}

TEST_CASE("where no departure came after a call all to the end of the log followed it") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(15, call("Stay."), "BASE");
  exercise.say(90, sample("1", "gneiss"));
  const Followed after = after_the_call(exercise);
  CHECK_FALSE(after.left);
  CHECK(after.samples.size() == 1);
}

TEST_CASE("a call is in time when any answer came before it said it was useful until") {
  const auto [minute, in_time] =
      GENERATE(table<double, bool>({{20, true}, {25, true}, {25.1, false}}));
  CAPTURE(minute);
  Exercise exercise;
  auto said = call("Move on.");
  said.useful_until = clock(25);
  const auto number = exercise.say(15, said, "BASE");
  exercise.say(minute, protocol::CallAnswer{id(number), protocol::Answered::heard, {}});
  exercise.say(27, protocol::CallAnswer{id(number), protocol::Answered::acting, {}});
  const Followed after = after_the_call(exercise);
  CHECK(after.in_time == in_time);
  CHECK(after.acted == clock(27).instant);
}

TEST_CASE("a call that nobody answered was not in time, and one without a limit is not judged") {
  Exercise limited, open;
  auto said = call("Move on.");
  said.useful_until = clock(25);
  limited.say(15, said, "BASE");
  open.say(15, call("Move on."), "BASE");
  CHECK(after_the_call(limited).in_time == false);
  CHECK_FALSE(after_the_call(open).in_time);
}

TEST_CASE("a call about a sample tells what that sample lacks at the end") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("8", "gneiss"));
  auto said = call("After picture of eight.");
  said.sample = "8";
  exercise.say(15, said, "BASE");
  exercise.say(17, protocol::Photo{"8", protocol::View::after, {}});
  const Followed after = after_the_call(exercise);
  REQUIRE(after.sample_lacks);
  CHECK(std::ranges::count(*after.sample_lacks, picture::Gap::after) == 0);
  CHECK(std::ranges::count(*after.sample_lacks, picture::Gap::down_sun) == 1);
}
