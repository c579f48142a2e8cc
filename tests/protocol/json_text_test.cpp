#include "protocol/json_text.hpp"

#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "protocol/event.hpp"
#include "tests/support/one_of_each.hpp"

using namespace stonecall;
using namespace stonecall::protocol;

namespace {

constexpr std::size_t no_limit = 1 << 20;

/// What nlohmann's parser makes of a text; discarded where it refuses it.
Json by_nlohmann(const std::string& text) {
  return Json::parse(text, nullptr, false);
}

std::string refusal_of(const std::string& text) {
  JsonText source;
  const auto value = source.read(text, no_limit);
  return value ? "taken" : value.error().what;
}

std::string members(int count) {
  std::string text = "{";
  for (int i = 0; i < count; ++i)
    text += (i ? ",\"m" : "\"m") + std::to_string(i) + "\":" + std::to_string(i);
  return text + "}";
}

}  // namespace

TEST_CASE("a JSON text reads as nlohmann's parser reads it") {
  // RFC 8259, section 13, and the corners of its grammar.
  const std::string text = GENERATE(
      R"({"Image": {"Width": 800, "Height": 600, "Title": "View from 15th Floor",
          "Thumbnail": {"Url": "http://www.example.com/image/481989943", "Height": 125, "Width": 100},
          "Animated": false, "IDs": [116, 943, 234, 38793]}})",
      R"([{"precision": "zip", "Latitude": 37.7668, "Longitude": -122.3959, "Address": ""}])",
      R"("Hello world!")", "42", "true", "null", "-0", "-0.0", "0.1", "1e-7", "1.5E+3",
      "9007199254740993", "-9223372036854775808", "18446744073709551615", "18446744073709551616",
      "[123456789012345678901234567890]", R"("\ud834\udd1e \u0000 \/ \b")",
      R"({"a": {}, "b": [], "": 1})", " \t\r\n[ ] ", "\xEF\xBB\xBF{}", R"(["é", "日本"])");
  CAPTURE(text);
  JsonText source;
  const auto value = source.read(text, no_limit);
  REQUIRE(value);
  CHECK(json_of(*value) == by_nlohmann(text));
  CHECK(json_of(*value).dump() == by_nlohmann(text).dump());
}

TEST_CASE("what is no JSON is refused, and said where it is wrong") {
  const std::string text = GENERATE(
      "", " ", "{", "[1,]", "{\"a\":1,}", "{a:1}", "01", "+1", ".5", "1.", "1e", "nul", "NaN",
      "'a'", "\"a", "\"\\x\"", "\"\\ud800\"", "\"a\nb\"", "\"\xff\"", "\"\xc0\xaf\"",
      "\"\xed\xa0\x80\"", "1 2", "{} x", "[1e999]", std::string("[\0]", 3));
  CAPTURE(text);
  REQUIRE(by_nlohmann(text).is_discarded());
  CHECK_THAT(refusal_of(text), Catch::StartsWith("not JSON: "));
  CHECK_THAT(refusal_of("{\"a\": 1,\n \"b\": ?}"), Catch::Contains("line 2, column 7"));
}

TEST_CASE("of a name that stands twice the last value is taken, whatever the number of members") {
  const int others = GENERATE(0, 5, 500);
  std::string text = members(others);
  text.pop_back();
  text += std::string(others > 0 ? "," : "") + R"("x":1,"y":2,"x":3,"y":4,"x":5})";
  CAPTURE(text);
  JsonText source;
  const Fields fields = fields_of(source.read(text, no_limit).value());
  REQUIRE(fields.size() == static_cast<std::size_t>(others) + 2);
  CHECK(fields[fields.size() - 2].name == "x");
  CHECK(json_of(fields[fields.size() - 2].value) == 5);
  CHECK(fields.back().name == "y");
  CHECK(json_of(fields.back().value) == 4);
  CHECK(json_of(source.read(text, no_limit).value()) == by_nlohmann(text));
}

TEST_CASE("a repeated member of an event is kept once") {
  const auto event = parse_event(
      R"({"id":"00000000-0000-4000-8000-000000000007","kind":"remark","at":"2027-05-18T09:01:00Z",)"
      R"("from":"a","text":"first","more":1,"text":"second","more":2})");
  REQUIRE(event);
  CHECK(std::get<Remark>(event->body).text == "second");
  CHECK(event->unknown == Json{{"more", 2}});
}

TEST_CASE("an object of very many members is read, and a small text after a large one") {
  JsonText source;
  const std::string large = members(60'000);
  CHECK(json_of(source.read(large, no_limit).value()).size() == 60'000);
  CHECK(json_of(source.read("[1]", no_limit).value()) == Json::array({1}));
}

TEST_CASE("what was copied out of a text outlives it") {
  Json kept;
  {
    JsonText source;
    kept = json_of(source.read(R"({"a":["one","two"]})", no_limit).value());
    REQUIRE(source.read(R"({"b":"three"})", no_limit));
  }
  CHECK(kept == Json{{"a", {"one", "two"}}});
}

TEST_CASE("lines are written as nlohmann's writer would write them") {
  Event event = test::event(7, 1, VoiceNote{"", {}, {}});
  std::get<VoiceNote>(event.body).text = GENERATE(
      "plain", "\"quoted\" \\ back", "tab\tline\nbell\x07 del\x7f", "crème brûlée 日本 𝄞", "");
  event.unknown["number"] = GENERATE(0.1, 1e21, -1e-9, 5e-324, 123456.75);
  event.unknown["na\"me"] = Json{{"deep", {1, nullptr, true, "x\n"}}};
  const std::string line = to_line(event);
  CHECK(Json::parse(line).dump() == line);
  CHECK(parse_event(line).value() == event);
}

TEST_CASE("numbers of an event keep their value") {
  const double percent = GENERATE(0.1, 33.333333333333336, 1e-7, 5e-324, 99.99999999999999);
  const Event event = test::event(7, 1, Share{"slate", {percent, 100}, {}, {}, {}});
  const std::string line = to_line(event);
  CHECK(Json::parse(line).dump() == line);
  CHECK(std::get<Share>(parse_event(line).value().body).percent.low == percent);
}
