#include "protocol/event.hpp"

#include <fstream>

#include <catch2/catch.hpp>

#include "tests/support/one_of_each.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using test::id;

namespace {

Json valid_json() {
  return to_json(test::event(7, 1, Tally{{{"gneiss", 7}}, 10, {}}));
}

std::string fault_of(const Json& json) {
  const auto event = event_from_json(json);
  REQUIRE_FALSE(event);
  return to_string(event.error());
}

}  // namespace

TEST_CASE("an event of every kind is the same after writing and reading") {
  const auto events = test::one_of_each();
  REQUIRE(events.size() >= std::variant_size_v<Body::Variant>);
  for (const auto& event : events) {
    CAPTURE(to_line(event));
    const auto back = parse_event(to_line(event));
    REQUIRE(back);
    CHECK(*back == event);
    CHECK(to_line(*back) == to_line(event));
  }
}

TEST_CASE("an event is written on one line, envelope first") {
  const std::string line = to_line(test::event(7, 1, VoiceNote{"one\ntwo", {}, {}}));
  CHECK(line.find('\n') == std::string::npos);
  CHECK(line.starts_with(
      R"({"id":"00000000-0000-4000-8000-000000000007","kind":"voice_note","at":"2027-05-18T09:01:00.000+02:00","from":"FIELD-1","seq":7)"));
}

TEST_CASE("whole numbers are written without a fraction") {
  CHECK(
      to_line(test::event(7, 1, Photo{"1", View::after, 210})).find("\"direction_degrees\":210}") !=
      std::string::npos);
}

TEST_CASE("members we do not know are kept and written again") {
  Json json = valid_json();
  json["weather"] = "fine";
  const auto event = event_from_json(json);
  REQUIRE(event);
  CHECK(to_json(*event)["weather"] == "fine");
}

TEST_CASE("an unknown kind is kept with all its members") {
  Json json = valid_json();
  json["kind"] = "balloon";
  json["height"] = 3;
  const auto event = event_from_json(json);
  REQUIRE(event);
  CHECK(std::holds_alternative<NotUnderstood>(event->body));
  CHECK(to_json(*event)["kind"] == "balloon");
  CHECK(to_json(*event)["height"] == 3);
  CHECK(to_json(*event)["counts"] == json["counts"]);
}

TEST_CASE("a missing member is named") {
  const char* member = GENERATE("id", "kind", "at", "from", "counts", "total");
  Json json = valid_json();
  json.erase(member);
  CHECK(fault_of(json) == "\"" + std::string(member) + "\": missing");
}

TEST_CASE("a member of the wrong form is named, with what was expected") {
  struct Case {
    const char* member;
    Json value;
    const char* says;
  };
  const auto [member, value, says] = GENERATE(values<Case>({
      {"id", 5, "\"id\": must be a UUID in text"},
      {"id", "5", "\"id\": not a UUID"},
      {"id", "{6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10}", "\"id\": not a UUID"},
      {"at", "noon", "\"at\": not an RFC 3339 time"},
      {"from", "", "\"from\": must not be empty"},
      {"seq", 0, "\"seq\": must be a whole number within 1"},
      {"seq", 1.5, "\"seq\": must be a whole number"},
      {"kind", "", "\"kind\": must be 1 to 64 bytes"},
      {"counts", "seven", "\"counts\": must be a list"},
      {"counts", Json::array({3}), "\"counts[0]\": must be an object"},
      {"counts", Json::array({Json{{"rock", "a"}}}), "\"counts[0].count\": missing"},
      {"counts", Json::array({Json{{"rock", "a"}, {"count", -1}}}),
       "\"counts[0].count\": must be a whole number within 0"},
      {"counts",
       Json::array({Json{{"rock", "a"}, {"count", 1}}, Json{{"rock", "a"}, {"count", 1}}}),
       "\"counts[1].rock\": \"a\" is counted twice"},
      {"counts", Json::array({Json{{"rock", "a"}, {"count", 11}}}),
       "\"total\": is 10, but the counts add up to 11"},
      {"total", true, "\"total\": must be a whole number"},
      {"station", Json::object(), "\"station\": must be text"},
  }));
  Json json = valid_json();
  json[member] = value;
  CHECK_THAT(fault_of(json), Catch::StartsWith(says));
}

TEST_CASE("ranges are in order and within 0 and 100 percent") {
  Json json = to_json(test::event(7, 1, Share{"slate", {10, 20}, 15, {}, {}}));
  SECTION("turned round") {
    json["percent"] = {{"low", 30}, {"high", 20}};
    CHECK(fault_of(json) == "\"percent\": \"low\" must not be above \"high\"");
  }
  SECTION("past the whole") {
    json["percent"]["high"] = 101;
    CHECK(fault_of(json) == "\"percent.high\": must lie within 0.0 and 100.0");
  }
  SECTION("best value outside") {
    json["best_percent"] = 25;
    CHECK(fault_of(json) == "\"best_percent\": must lie within \"percent\"");
  }
}

TEST_CASE("limits are named where they are passed") {
  Json json = to_json(test::event(7, 1, VoiceNote{"x", {}, {}}));
  SECTION("a text of 8 KiB passes, one byte more does not") {
    json["text"] = std::string(8192, 'x');
    CHECK(event_from_json(json));
    json["text"] = std::string(8193, 'x');
    CHECK(fault_of(json) == "\"text\": is 8193 bytes long; the limit is 8192");
  }
  SECTION("a name is counted in bytes") {
    std::string name;
    for (int i = 0; i < 41; ++i) name += "\u00e9";
    json["from"] = name;
    CHECK(fault_of(json) == "\"from\": is 82 bytes long; the limit is 80");
  }
  SECTION("an event of more than 64 KiB") {
    json["more"] = std::string(70'000, 'x');
    const auto event = parse_event(json.dump());
    REQUIRE_FALSE(event);
    CHECK_THAT(event.error().what, Catch::Contains("the limit is 65536"));
  }
  SECTION("nesting of 16 passes, 17 does not, brackets in texts do not count") {
    const auto nested = [&](int depth) {
      std::string text = json.dump();
      text.pop_back();
      return text + ",\"deep\":" + std::string(static_cast<std::size_t>(depth), '[') +
             std::string(static_cast<std::size_t>(depth), ']') + "}";
    };
    CHECK(parse_event(nested(15)));
    REQUIRE_FALSE(parse_event(nested(16)));
    CHECK_THAT(parse_event(nested(16)).error().what,
               Catch::Contains("nested 17 deep; the limit is 16"));
    CHECK_FALSE(parse_event(nested(30'000)));
    json["text"] = std::string(100, '[') + "\\\"" + std::string(100, '[');
    CHECK(parse_event(json.dump()));
  }
}

TEST_CASE("text that is no JSON is refused with the place of the mistake") {
  const char* text = GENERATE("", "{", "nonsense", "[1,2", "{\"id\":}", "{\"a\":1}{\"b\":2}",
                              "{\"a\":1e999}", "{\"a\":NaN}");
  CAPTURE(text);
  REQUIRE_FALSE(parse_event(std::string_view(text)));
  CHECK_THAT(parse_event(std::string_view(text)).error().what, Catch::StartsWith("not JSON"));
}

TEST_CASE("a mistake in a line is placed by its column; the line is the file's to count") {
  CHECK_THAT(parse_event(R"({"id": nought})").error().what,
             Catch::StartsWith("not JSON: column 9: "));
}

TEST_CASE("what is JSON but no object is no event") {
  const char* text = GENERATE("[]", "5", "null", "\"x\"");
  CHECK_FALSE(parse_event(std::string_view(text)));
}

TEST_CASE("bytes that are not UTF-8 are refused, and the message itself is clean") {
  std::string text = to_line(test::event(7, 1, VoiceNote{"caf?", {}, {}}));
  text[text.find('?')] = '\xe9';
  const auto event = parse_event(text);
  REQUIRE_FALSE(event);
  CHECK_NOTHROW(Json(event.error().what).dump());
}

TEST_CASE("same content is all but what the server gives") {
  const Event sent = test::event(7, 1, VoiceNote{"x", {}, {}});
  Event stored = sent;
  stored.seq = 99;
  stored.received = test::clock(2);
  CHECK(same_content(sent, stored));
  stored.from = "FIELD-2";
  CHECK_FALSE(same_content(sent, stored));
}

TEST_CASE("an amendment changes, adds and takes away members") {
  const Event event = test::event(7, 1, Tally{{{"gneiss", 7}}, 10, "Ford"});
  const auto changed =
      amended(event, {{"total", 12}, {"station", nullptr}, {"at", "2027-05-18T08:00:00Z"}});
  REQUIRE(changed);
  const auto& tally = std::get<Tally>(changed->body);
  CHECK(tally.total == 12);
  CHECK_FALSE(tally.station);
  CHECK(changed->at.offset == std::chrono::minutes(0));
  CHECK(changed->id == event.id);
}

TEST_CASE("an amendment of a reading changes its fact") {
  const Event event = test::event(7, 1, Reading{id(4), Outcome::accepted, Arrival{"Ford"}, {}, {}});
  const auto changed = amended(event, {{"station", "Terrace"}});
  REQUIRE(changed);
  CHECK(std::get<Arrival>(std::get<Reading>(changed->body).fact).station == "Terrace");
}

TEST_CASE("the rest of the envelope can not be amended") {
  const char* member = GENERATE("id", "kind", "from", "seq", "received");
  CHECK_FALSE(amended(test::event(7, 1, Arrival{"Ford"}), Json{{member, "x"}}));
}

TEST_CASE("an amendment that breaks the event is refused with the member named") {
  const auto changed = amended(test::event(7, 1, Arrival{"Ford"}), {{"station", nullptr}});
  REQUIRE_FALSE(changed);
  CHECK(to_string(changed.error()) == "\"changes.station\": missing");
}

TEST_CASE("ids made here are version 4 and differ") {
  const Uuid a = random_uuid();
  CHECK(a != random_uuid());
  CHECK(a.version() == boost::uuids::uuid::version_random_number_based);
  CHECK(parse_uuid(to_string(a)).value() == a);
}

TEST_CASE("each line of a file of broken events is refused at the member that is wrong") {
  // The same file is held against the schema by an outside validator (check_schema.py).
  std::ifstream file(BROKEN_EVENTS);
  std::size_t lines = 0;
  for (std::string line; std::getline(file, line); ++lines) {
    CAPTURE(line);
    const auto event = parse_event(line);
    REQUIRE_FALSE(event);
    CHECK(event.error().member == Json::parse(line)["breaks"].get<std::string>());
  }
  CHECK(lines == 101);
}
