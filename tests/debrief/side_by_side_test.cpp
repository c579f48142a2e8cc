#include "console/debrief/side_by_side.hpp"

#include <catch2/catch.hpp>

#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::test;

namespace {

bool has(const std::string& page, const std::string& words) {
  return page.find(words) != std::string::npos;
}

/// One stay at the Ford of so many minutes, with a count, a sample and a call that is acted on.
Exercise stay_of(double minutes, const protocol::Plan& plan = small_plan()) {
  Exercise exercise(plan);
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("1", "gneiss"));
  exercise.say(13, protocol::Tally{{{"gneiss", 8}, {"slate", 2}}, 10, {}});
  auto said = call("Move on.");
  said.says = protocol::Says::move_on;
  const auto number = exercise.say(14, said, "BASE");
  exercise.say(15, protocol::CallAnswer{id(number), protocol::Answered::acting, {}});
  exercise.say(10 + minutes, protocol::Departure{});
  exercise.say(60 + minutes, protocol::Arrival{"BASE"});
  return exercise;
}

std::string row_of(const std::string& page, const std::string& name) {
  const auto begin = page.find(">" + name + "</th>");
  REQUIRE(begin != std::string::npos);
  return page.substr(begin, page.find("</tr>", begin) - begin);
}

}  // namespace

TEST_CASE("two runs of a plan stand side by side, figure by figure") {
  auto other = stay_of(40);
  other.say(48, sample("2", "slate"));
  const auto first = stay_of(20).look_back();
  const auto second = other.look_back();
  const auto page = debrief::side_by_side(first, second);
  REQUIRE(page);
  const auto back = row_of(*page, "Back at base");
  CHECK(has(back, ">1:20<"));
  CHECK(has(back, ">1:40<"));
  const auto bagged = row_of(*page, "Bagged");
  CHECK(bagged.find(">1<") < bagged.find(">2<"));
  const auto ford = row_of(*page, "Ford");
  CHECK(ford.find(">20<") < ford.find(">40<"));
  CHECK(has(row_of(*page, "Acted on"), ">1<"));
  CHECK(has(*page, "Shares at Ford in either run"));
}

TEST_CASE("a run beside itself shows the same twice") {
  const auto run = stay_of(20).look_back();
  const auto page = debrief::side_by_side(run, run);
  REQUIRE(page);
  for (const char* name : {"Back at base", "Bagged", "Kinds met", "Rocks counted", "All"}) {
    const auto row = row_of(*page, name);
    const auto first = row.find("<td");
    const auto second = row.find("<td", first + 1);
    CAPTURE(row);
    REQUIRE(second != std::string::npos);
    CHECK(row.substr(first, row.find("</td>", first) - first) ==
          row.substr(second, row.find("</td>", second) - second));
  }
}

TEST_CASE("chances that somebody stated are not among the calls of a run") {
  auto run = stay_of(20);
  auto stated = call("A chance");
  stated.chance = 0.7;
  stated.outcome = "a new kind within ten minutes";
  run.say(16, stated, "BASE");
  const auto page = debrief::side_by_side(run.look_back(), stay_of(20).look_back());
  REQUIRE(page);
  for (const char* name : {"Calls of the back room", "All"}) {
    CAPTURE(name);
    CHECK_FALSE(has(row_of(*page, name), ">2<"));
  }
  CHECK_FALSE(has(row_of(*page, "Never answered"), ">1<"));
  CHECK_FALSE(has(row_of(*page, "In free words"), ">1<"));
  CHECK(has(row_of(*page, "Chances stated"), ">1<"));
}

TEST_CASE("runs of two plans are not laid side by side, and why is said") {
  auto plan = small_plan();
  const auto first = stay_of(20).look_back();
  SECTION("another name") {
    plan.name = "Alder Bank";
    const auto page = debrief::side_by_side(first, stay_of(20, plan).look_back());
    REQUIRE_FALSE(page);
    CHECK(has(page.error().what, "\"Larch Hollow\""));
    CHECK(has(page.error().what, "\"Alder Bank\""));
  }
  SECTION("another station, or one less") {
    plan.stations[1].station = "Spur";
    const auto renamed = debrief::side_by_side(first, stay_of(20, plan).look_back());
    REQUIRE_FALSE(renamed);
    CHECK(has(renamed.error().what, "stop 2 of the plan is \"Terrace\""));
    plan.stations.pop_back();
    const auto fewer = debrief::side_by_side(first, stay_of(20, plan).look_back());
    REQUIRE_FALSE(fewer);
    CHECK(has(fewer.error().what, "and none in"));
  }
  SECTION("no plan") {
    const std::vector<EventPtr> events{shared(1, 0, protocol::Arrival{"Ford"})};
    const auto page = debrief::side_by_side(first, debrief::look_back({"bare.jsonl", events, {}}));
    REQUIRE_FALSE(page);
    CHECK(page.error().what == "bare.jsonl holds no plan");
  }
}
