#include "protocol/time.hpp"

#include <catch2/catch.hpp>

using namespace stonecall::protocol;
using namespace std::chrono;

TEST_CASE("RFC 3339 times read as the instant they name") {
  // The examples of RFC 3339, section 5.8, with the instants that the section gives in words.
  const auto at = [](const char* text) { return parse_timestamp(text).value(); };
  CHECK(at("1985-04-12T23:20:50.52Z").instant ==
        sys_days{1985y / 4 / 12} + 23h + 20min + 50s + 520ms);
  CHECK(at("1996-12-19T16:39:57-08:00").instant == at("1996-12-20T00:39:57Z").instant);
  CHECK(at("1990-12-31T23:59:60Z").instant == at("1990-12-31T15:59:60-08:00").instant);
  CHECK(at("1937-01-01T12:00:27.87+00:20").instant ==
        sys_days{1937y / 1 / 1} + 11h + 40min + 27s + 870ms);
}

TEST_CASE("a leap second reads as the second after it") {
  CHECK(parse_timestamp("1990-12-31T23:59:60Z")->instant == sys_days{1991y / 1 / 1});
}

TEST_CASE("the offset that was written is kept") {
  CHECK(parse_timestamp("2027-05-18T09:00:00.000+02:00")->offset == 120min);
  CHECK(parse_timestamp("2027-05-18T09:00:00.000-09:30")->offset == -570min);
  CHECK(parse_timestamp("2027-05-18T09:00:00.000-00:00")->offset == 0min);
}

TEST_CASE("a time is written with milliseconds and numeric offset, and reads back the same") {
  const char* text = GENERATE("2027-05-18T09:07:25.000+02:00", "2027-02-28T23:59:59.999-11:45",
                              "2028-02-29T00:00:00.001+00:00", "0001-01-01T00:00:00.000+00:00");
  CHECK(to_string(parse_timestamp(text).value()) == text);
}

TEST_CASE("what is no RFC 3339 time is refused") {
  const char* text = GENERATE(
      "", "2027-05-18", "2027-05-18T09:00:00", "2027-5-18T09:00:00Z", "2027-02-29T09:00:00Z",
      "2027-05-18T24:00:00Z", "2027-05-18T09:60:00Z", "2027-05-18T09:00:61Z",
      "2027-05-18T09:00:00.Z", "2027-05-18T09:00:00+2:00", "2027-05-18T09:00:00+24:00",
      "2027-05-18T09:00:00Z ", "yesterday", "2027-13-18T09:00:00Z", "+027-05-18T09:00:00Z");
  CAPTURE(text);
  REQUIRE_FALSE(parse_timestamp(text));
  CHECK(parse_timestamp(text).error().what.find("RFC 3339") != std::string::npos);
}

TEST_CASE("elapsed time is written as people say it") {
  CHECK(elapsed_text(1h + 12min + 40s + 999ms) == "1:12:40");
  CHECK(elapsed_text(-(3min + 5s)) == "-0:03:05");
  CHECK(elapsed_text(-400ms) == "0:00:00");
  CHECK(elapsed_text(100h) == "100:00:00");
  CHECK(elapsed_minutes_text(1h + 12min + 59s) == "1:12");
  CHECK(elapsed_minutes_text(-(10s)) == "-0:01");
}

TEST_CASE("elapsed time reads in hours and minutes, with seconds, or in minutes") {
  CHECK(parse_elapsed("1:12:40").value() == 1h + 12min + 40s);
  CHECK(parse_elapsed("1:12").value() == 1h + 12min);
  CHECK(parse_elapsed("72m").value() == 72min);
  CHECK(parse_elapsed("-0:05").value() == -5min);
}

TEST_CASE("what is no elapsed time is refused") {
  const char* text = GENERATE("", "5", "1:", "1:2:", "1:60", "1:00:60", "1:2:3:4", "a", "1:-2", "m",
                              "-", "99999999m");
  CAPTURE(text);
  CHECK_FALSE(parse_elapsed(text));
}
