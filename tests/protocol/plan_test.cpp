#include "protocol/plan.hpp"

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;

namespace {

Json valid() {
  return to_json(test::small_plan());
}

std::string fault_of(const Json& json) {
  const auto plan = plan_from_json(json);
  REQUIRE_FALSE(plan);
  return to_string(plan.error());
}

}  // namespace

TEST_CASE("a plan is the same after writing and reading") {
  Plan plan = test::small_plan();
  plan.stations[0].expected = {{"gneiss", 60}, {"slate", 40}};
  plan.stations[0].way = {{46.001, 8.001, {}}};
  plan.stations[1].arrive_minutes = 55;
  plan.documentation.views = {View::after};
  plan.method.confident = 0.8;
  plan.unknown = {{"radio_channel", 7}};
  const auto back = parse_plan(to_json(plan).dump(2));
  REQUIRE(back);
  CHECK(*back == plan);
}

TEST_CASE("what a short plan leaves out takes the defaults of the format") {
  const auto plan = parse_plan(R"({"name":"A","start":"2027-05-18T09:00:00Z","duration_minutes":60,
    "base":{"station":"BASE","latitude":46,"longitude":8},"stations":[],"vocabulary":[]})");
  REQUIRE(plan);
  CHECK(plan->walking.speed_kmh == 3);
  CHECK(plan->walking.margin_percent == 20);
  CHECK(plan->link.reaction_minutes == 3);
  CHECK(plan->documentation == Documentation{});
  CHECK(plan->method == Method{});
}

TEST_CASE("a fault in a plan names the member") {
  Json json = valid();
  SECTION("a station listed twice") {
    json["stations"][1]["station"] = "Ford";
    CHECK(fault_of(json) == "\"stations[1].station\": \"Ford\" is listed twice");
  }
  SECTION("a station with the name of the base") {
    json["stations"][0]["station"] = "BASE";
    CHECK(fault_of(json) == "\"stations[0].station\": has the name of the base");
  }
  SECTION("a wanted kind that is not in the vocabulary") {
    json["wanted"][0]["rock"] = "jade";
    CHECK(fault_of(json) == "\"wanted[0].rock\": \"jade\" is not in the vocabulary; add it there");
  }
  SECTION("expected shares above the whole") {
    json["stations"][0]["expected"] = {{{"rock", "gneiss"}, {"percent", 70}},
                                       {{"rock", "slate"}, {"percent", 40}}};
    CHECK(fault_of(json) == "\"stations[0].expected\": adds up to 110.0 %, more than 100 %");
  }
  SECTION("rare kinds that would be typical") {
    json["method"]["typical_percent"] = 4;
    CHECK(fault_of(json) == "\"method.rare_percent\": is 5.0, above typical_percent, 4.0");
  }
  SECTION("no latitude there") {
    json["base"]["latitude"] = 91;
    CHECK(fault_of(json) == "\"base.latitude\": must lie within -90.0 and 90.0");
  }
  SECTION("an unknown view") {
    json["documentation"]["views"] = {"sideways"};
    CHECK(fault_of(json) ==
          "\"documentation.views[0]\": must be stereo_pair, stereo_left, stereo_right, down_sun or "
          "after");
  }
  SECTION("no start") {
    json.erase("start");
    CHECK(fault_of(json) == "\"start\": missing");
  }
}

TEST_CASE("a mistake in the JSON of a plan file names the line") {
  const auto plan = parse_plan("{\n \"name\": \"A\",\n oops\n}");
  REQUIRE_FALSE(plan);
  CHECK_THAT(plan.error().what, Catch::Contains("line 3"));
}
