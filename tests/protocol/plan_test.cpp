#include "protocol/plan.hpp"

#include <catch2/catch.hpp>

#include "protocol/json_line.hpp"
#include "protocol/plan_file.hpp"
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

namespace {

/// "line: fault" of each fault of a plan's text.
std::vector<std::string> faults_of(std::string_view text) {
  std::vector<std::string> all;
  for (const auto& fault : read_plan(text).faults) all.push_back(to_string(fault));
  return all;
}

}  // namespace

TEST_CASE("everything that is wrong in a plan file is named by the line it stands on") {
  const std::string text = R"({
  "name": "A",
  "start": "tomorrow",
  "duration_minutes": 60,
  "base": {"station": "base", "latitude": 91,
    "longitude": 9},
  "stations": [
    {"station": "S1", "latitude": 45, "longitude": 9, "allotted_minutes": 20},
    {
      "station": "S2",
      "latitude": 45, "longitude": 9,
      "allotted_minutes": "twenty"
    },
    {"station": "S3", "longitude": 9,
     "allotted_minutes": 20}
  ],
  "wanted": [
    {"rock": "gneiss", "number": 2},
    {"rock": "jade", "number": 0}
  ],
  "vocabulary": [{"rock": "gneiss"}]
})";
  const auto faults = faults_of(text);
  REQUIRE(faults.size() == 5);
  CHECK_THAT(faults[0], Catch::StartsWith("line 3: \"start\": not an RFC 3339 time"));
  CHECK(faults[1] == "line 5: \"base.latitude\": must lie within -90.0 and 90.0");
  CHECK(faults[2] == "line 12: \"stations[1].allotted_minutes\": must be a number");
  CHECK(faults[3] == "line 14: \"stations[2].latitude\": missing");
  CHECK(faults[4] == "line 19: \"wanted[1].number\": must be a whole number within 1 and 1000");
}

TEST_CASE("what a plan refers to but does not list is named by line, each time") {
  const std::string text = R"({"name": "A", "start": "2027-05-18T09:00:00Z", "duration_minutes": 60,
  "base": {"station": "base", "latitude": 45, "longitude": 9},
  "stations": [
    {"station": "S1", "latitude": 45, "longitude": 9, "allotted_minutes": 20,
     "expected": [
       {"rock": "gneiss", "percent": 60},
       {"rock": "slate", "percent": 20}
     ]},
    {"station": "S1", "latitude": 45, "longitude": 9, "allotted_minutes": 20}
  ],
  "wanted": [{"rock": "jade", "number": 2}],
  "vocabulary": [{"rock": "gneiss"}]})";
  CHECK(faults_of(text) ==
        std::vector<std::string>{
            "line 7: \"stations[0].expected[1].rock\": \"slate\" is not in the vocabulary; add it "
            "there",
            "line 9: \"stations[1].station\": \"S1\" is listed twice",
            "line 11: \"wanted[0].rock\": \"jade\" is not in the vocabulary; add it there"});
}

TEST_CASE("a wrong part of a plan does not hide what is wrong in the others") {
  const auto faults = faults_of(R"({"name": "A",
  "base": {"station": "base", "latitude": 45, "longitude": 9}, "stations": 7,
  "wanted": [{"rock": "jade", "number": 2}],
  "vocabulary": [{"rock": "gneiss"}]})");
  REQUIRE(faults.size() == 4);
  CHECK(faults[0] == "line 1: \"start\": missing");
  CHECK(faults[1] == "line 1: \"duration_minutes\": missing");
  CHECK(faults[2] == "line 2: \"stations\": must be a list");
  CHECK_THAT(faults[3], Catch::StartsWith("line 3: \"wanted[0].rock\": \"jade\" is not in"));
}

TEST_CASE("a member that means nothing in a plan is named by line, wherever it stands") {
  const auto read = read_plan(R"({"name": "A", "start": "2027-05-18T09:00:00Z",
  "duration_minutes": 60, "base": {"station": "base", "latitude": 45, "longitude": 9},
  "stations": [
    {"station": "S1", "latitude": 45, "longitude": 9, "allotted_minutes": 20, "sure": 3}
  ],
  "walking": {"speed": 5},
  "wantd": [], "vocabulary": [{"rock": "gneiss"}]})");
  CHECK(read.plan);  // kept all the same: it may be of a later version
  REQUIRE(read.unheeded.size() == 3);
  CHECK(to_string(read.unheeded[0]) ==
        "line 4: \"stations[0].sure\": means nothing here; is it misspelt?");
  CHECK(to_string(read.unheeded[1]) ==
        "line 6: \"walking.speed\": means nothing here; is it misspelt?");
  CHECK(to_string(read.unheeded[2]) == "line 7: \"wantd\": means nothing here; is it misspelt?");
}

TEST_CASE("whoever wants only the first fault of a plan is told its line too") {
  const auto plan = parse_plan("{\n \"name\": \"A\",\n \"start\": 7\n}");
  REQUIRE_FALSE(plan);
  CHECK(to_string(plan.error()) == "line 1: \"duration_minutes\": missing");
}

TEST_CASE("the line of a member is found past brackets in texts, escapes and doubled members") {
  const std::string text =
      "{\"a\": \"}]\\\"{\",\n \"b\": [1, {\"c\": [[]],\n \"\\u0064\": 2}],\n \"b\\n\": 0,\n "
      "\"a\":\n 5}";
  CHECK(line_in_json(text, "") == 1);
  CHECK(line_in_json(text, "b") == 2);
  CHECK(line_in_json(text, "b[1].d") == 3);
  CHECK(line_in_json(text, "b[1].missing") == 2);
  CHECK(line_in_json(text, "b[7]") == 2);
  CHECK(line_in_json(text, "a") == 6);
  CHECK(line_in_json("[]", "[0].x") == 1);
}
