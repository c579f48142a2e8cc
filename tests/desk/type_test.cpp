#include <catch2/catch.hpp>

#include "console/desk/clock_text.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/member_text.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

TEST_CASE("type has five sizes, in whole pixels at every scale") {
  auto percent = GENERATE(80, 100, 110, 125, 150, 200);
  Headless desk(1600, 900, static_cast<float>(percent) / 100);
  for (Type type : {Type::figure, Type::title, Type::lead, Type::text, Type::fine})
    CHECK(desk.fonts.em(type) ==
          std::lround(em_pixels[static_cast<std::size_t>(type)] * percent / 100.0));
}

TEST_CASE("a running clock stands still: all digits take one cell") {
  Headless desk;
  Font font{Type::figure, Weight::medium};
  CHECK(desk.fonts.figures_width(font, "1:11:11") == desk.fonts.figures_width(font, "0:48:30"));
  CHECK(desk.fonts.width(font, "1:11:11") < desk.fonts.width(font, "0:48:30"));
}

TEST_CASE("a wrapped text keeps every word, in lines no wider than asked") {
  Headless desk;
  Font font{Type::text};
  std::string text =
      "Sample fourteen, bag thirty-one, pale, light, pumice, fist size, about half buried.";
  auto width = GENERATE(90.0F, 160.0F, 311.0F);
  std::string joined;
  for (auto [begin, end] : wrap(desk.fonts, font, text, width)) {
    CHECK(desk.fonts.width(font, std::string_view(text).substr(begin, end - begin)) <= width);
    joined += (joined.empty() ? "" : " ") + text.substr(begin, end - begin);
  }
  CHECK(joined == text);
}

TEST_CASE("a word wider than its column is broken between letters, never inside one") {
  Headless desk;
  std::string text = "Über­größen­ñandú­Ωμέγα-сланец-сланец-сланец";
  for (auto [begin, end] : wrap(desk.fonts, {Type::text}, text, 40)) {
    REQUIRE(end > begin);
    CHECK((static_cast<unsigned char>(text[begin]) & 0xC0) != 0x80);
  }
}

TEST_CASE("a figure is parted from its unit or interval only where a line has no other blank") {
  Headless desk;
  Font font{Type::text};
  const auto lines_of = [&](const std::string& text, float width) {
    std::vector<std::string> lines;
    for (auto [begin, end] : wrap(desk.fonts, font, text, width))
      lines.push_back(text.substr(begin, end - begin));
    return lines;
  };
  using Lines = std::vector<std::string>;
  const auto up_to = [&](const char* text) { return desk.fonts.width(font, text) + 2; };
  CHECK(lines_of("New kinds in ten minutes: 0.5 (0–7).", up_to("New kinds in ten minutes: 0.5")) ==
        Lines{"New kinds in ten minutes:", "0.5 (0–7)."});
  CHECK(lines_of("Next is a new kind: 16 % (0–59).", up_to("Next is a new kind: 16 %")) ==
        Lines{"Next is a new kind:", "16 % (0–59)."});
  CHECK(lines_of("at 2:17, return 11 min + 20 %", up_to("at 2:17, return 11")) ==
        Lines{"at 2:17, return", "11 min + 20 %"});
  // What only begins like a unit is a word.
  CHECK(lines_of("of samples 14 more", up_to("of samples 14")) == Lines{"of samples 14", "more"});
  CHECK(lines_of("16 % (0–59)", up_to("(0–59)")) == Lines{"16 %", "(0–59)"});
}

TEST_CASE("an empty text is one empty line") {
  Headless desk;
  CHECK(wrap(desk.fonts, {Type::text}, "", 100) == std::vector<WrappedLine>{{0, 0}});
}

TEST_CASE("a text cut short says so and fits") {
  Headless desk;
  std::string cut = ellipsis(desk.fonts, {Type::text}, "vesicular basalt with olivine", 100);
  CHECK(cut.ends_with("…"));
  CHECK(desk.fonts.width({Type::text}, cut) <= 100);
  CHECK(ellipsis(desk.fonts, {Type::text}, "scoria", 100) == "scoria");
}

TEST_CASE("one moment is written as elapsed, local or UTC") {
  ClockText clock;
  clock.start = *stonecall::protocol::parse_timestamp("2027-05-18T08:30:00.000+02:00");
  auto at = clock.start.instant + 1h + 12min + 40s;
  CHECK(clock.seconds(at) == "1:12:40");
  clock.mode = TimeMode::local;
  CHECK(clock.seconds(at) == "09:42:40");
  CHECK(clock.zone() == "UTC+02:00");
  clock.mode = TimeMode::utc;
  CHECK(clock.seconds(at) == "07:42:40");
  CHECK(clock.minutes(at) == "07:42");
}

TEST_CASE("what the advice says of moments is told by the clock that is shown") {
  ClockText clock;
  clock.start = *stonecall::protocol::parse_timestamp("2027-05-18T08:30:00.000+02:00");
  using stonecall::advise::Telling;
  const Telling advice = "Leave by " + Telling::moment(1h + 19min) + ", 2:1 for scoria.";
  CHECK(clock.told(advice) == "Leave by 1:19, 2:1 for scoria.");
  clock.mode = TimeMode::local;
  CHECK(clock.told(advice) == "Leave by 09:49, 2:1 for scoria.");
  clock.mode = TimeMode::utc;
  CHECK(clock.told(advice) == "Leave by 07:49, 2:1 for scoria.");
}

TEST_CASE("a moment before the start has a minus sign, and reads back with it") {
  ClockText clock;
  clock.start = *stonecall::protocol::parse_timestamp("2027-05-18T08:30:00.000+02:00");
  const auto early = clock.start.instant - 10min;
  CHECK(clock.seconds(early) == "−0:10:00");
  CHECK(clock.minutes(early) == "−0:10");
  const auto read = member_value("−0:10:00", Form::moment, clock);
  REQUIRE(read);
  CHECK(stonecall::protocol::parse_timestamp(read->get<std::string>())->instant == early);
}

TEST_CASE("a call stands in the words it was sent in, with its moment by the clock shown") {
  ClockText clock;
  clock.start = *stonecall::protocol::parse_timestamp("2027-05-18T08:30:00.000+02:00");
  stonecall::protocol::Call call;
  call.text = "Stay here until 1:19, then move on to Ford.";
  call.until = clock.start;
  call.until->instant += 1h + 19min;
  call.advised = true;
  CHECK(call_text(call, clock) == call.text);
  clock.mode = TimeMode::local;
  CHECK(call_text(call, clock) == call.text + " (leave 09:49)");
  call.advised = false;  // somebody's own words
  CHECK(call_text(call, clock) == call.text);
}

TEST_CASE("a span that has run out has a minus sign") {
  CHECK(span_text(27min + 59s) == "0:27");
  CHECK(span_text(-3min) == "−0:03");
  CHECK(span_text(-20s) == "−0:01");  // past is past
}

TEST_CASE("a reading is a chip in plain words") {
  using namespace stonecall::protocol;
  CHECK(chip_text(Tally{{{"basalt", 7}, {"scoria", 2}}, 10, {}}) ==
        "tally of 10: basalt 7, scoria 2");
  CHECK(chip_text(Share{"scoria", {45, 55}, {}, {}, {}}) == "share: scoria, 45–55 %");
  SampleTaken sample;
  sample.number = "14";
  sample.bag = "31";
  sample.rock = "pumice";
  CHECK(chip_text(sample) == "sample 14, bag 31: pumice");
}
