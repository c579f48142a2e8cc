#include "protocol/log.hpp"

#include <sstream>

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;

namespace {

std::string line(std::uint32_t n) {
  return to_line(test::event(n, n, VoiceNote{"note", {}, {}}));
}

Log read(const std::string& text) {
  std::istringstream in(text);
  return read_log(in);
}

std::vector<std::string> texts(const std::vector<Fault>& faults) {
  std::vector<std::string> all;
  for (const auto& fault : faults) all.push_back(to_string(fault));
  return all;
}

}  // namespace

TEST_CASE("an empty log has no events and no faults") {
  const Log log = read("");
  CHECK(log.events.empty());
  CHECK(log.faults.empty());
}

TEST_CASE("each line of a log is an event, in order") {
  const Log log = read(line(1) + "\n" + line(2) + "\n");
  REQUIRE(log.events.size() == 2);
  CHECK(log.events[1]->id == test::id(2));
  CHECK(log.faults.empty());
}

TEST_CASE("a whole last line without line feed is an event") {
  const Log log = read(line(1) + "\n" + line(2));
  CHECK(log.events.size() == 2);
  CHECK(log.faults.empty());
}

TEST_CASE("a torn last line is reported as torn and the lines before it stand") {
  const Log log = read(line(1) + "\n" + line(2).substr(0, 60));
  CHECK(log.events.size() == 1);
  REQUIRE(log.faults.size() == 1);
  CHECK_THAT(to_string(log.faults[0]), Catch::StartsWith("line 2: the last line is torn"));
}

TEST_CASE("a torn line in the middle costs itself and no other") {
  const Log log = read(line(1) + "\n" + line(2).substr(0, 60) + "\n" + line(3) + "\n");
  CHECK(log.events.size() == 2);
  REQUIRE_FALSE(log.faults.empty());
  CHECK_THAT(to_string(log.faults[0]), Catch::StartsWith("line 2: not JSON"));
}

TEST_CASE("CRLF, blank lines and a byte-order mark are passed over, and lines still counted") {
  const Log log = read("\xEF\xBB\xBF" + line(1) + "\r\n\r\n   \n" + line(2) + "\r\nbad\r\n");
  CHECK(log.events.size() == 2);
  REQUIRE(log.faults.size() == 1);
  CHECK(log.faults[0].line == 5u);
}

TEST_CASE("a line that is not UTF-8 is named and skipped") {
  std::string broken = line(2);
  broken[broken.find("note\"") + 1] = '\xff';
  const Log log = read(line(1) + "\n" + broken + "\n" + line(3) + "\n");
  CHECK(log.events.size() == 2);
  CHECK(log.faults.front().line == 2u);
}

TEST_CASE("a line longer than an event may be is named and skipped") {
  for (const std::size_t size : {70'000u, 1'000'000u}) {
    const Log log = read(line(1) + "\n" + std::string(size, 'x') + "\n" + line(2) + "\n");
    CHECK(log.events.size() == 2);
    REQUIRE(log.faults.size() == 1);
    CHECK(log.faults[0].line == 2u);
    CHECK_THAT(log.faults[0].what, Catch::Contains("65536"));
  }
}

TEST_CASE("an id that stands twice is reported and the first event used") {
  const Log log = read(line(1) + "\n" + line(1) + "\n");
  CHECK(log.events.size() == 1);
  CHECK(texts(log.faults) ==
        std::vector<std::string>{
            "line 2: \"id\": stands on an earlier line already; the first one is used"});
}

TEST_CASE("a gap in seq is reported and the events are used") {
  const Log log = read(line(1) + "\n" + line(4) + "\n" + line(3) + "\n");
  CHECK(log.events.size() == 3);
  CHECK(texts(log.faults) ==
        std::vector<std::string>{"line 2: \"seq\": is 4 after 1: events are missing between",
                                 "line 3: \"seq\": is 3 after 4: out of order"});
}

TEST_CASE("a log reads the same in pieces of any size") {
  const std::string text = line(1) + "\r\n" + line(2) + "\nbad\n" + line(3).substr(0, 50);
  const auto collect = [&](std::size_t piece) {
    std::vector<std::string> items;
    LogReader reader([&](LogReader::Item item) {
      const auto* event = std::get_if<Event>(&item);
      items.push_back(event ? to_line(*event) : to_string(std::get<Fault>(item)));
    });
    for (std::size_t i = 0; i < text.size(); i += piece)
      reader.feed(std::string_view(text).substr(i, piece));
    reader.finish();
    return items;
  };
  const auto whole = collect(text.size());
  CHECK(whole.size() == 4);
  const std::size_t piece = GENERATE(1u, 2u, 3u, 7u, 64u, 1000u);
  CHECK(collect(piece) == whole);
}

TEST_CASE("a log that can not be opened says so") {
  const auto log = read_log_file("/nowhere/at/all.jsonl");
  REQUIRE_FALSE(log);
  CHECK_THAT(log.error().what, Catch::Contains("cannot open /nowhere/at/all.jsonl: No such file"));
}

TEST_CASE("a long log read side by side comes out as read line by line") {
  // Several batches of lines, with what is wrong in them at their ends and in between.
  std::string text;
  for (std::uint32_t n = 1; n <= 9000; ++n) {
    if (n % 1000 == 0) text += "{\"torn\": \n";
    if (n % 1500 == 0) text += line(n / 2) + "\n";  // once more
    if (n % 700 == 0) text += "\r\n";
    if (n % 4000 == 0) text.append(200'000, 'x').append(1, '\n');
    text += to_line(test::event(n, n, VoiceNote{std::string(100 + n % 50, 'a'), {}, {}})) + "\n";
  }
  text += line(9001).substr(0, 50);

  std::vector<EventPtr> events;
  std::vector<Fault> faults;
  LogReader reader([&](LogReader::Item item) {
    if (auto* event = std::get_if<Event>(&item))
      events.push_back(std::make_shared<const Event>(std::move(*event)));
    else
      faults.push_back(std::get<Fault>(std::move(item)));
  });
  const std::size_t piece = GENERATE(std::size_t{977}, std::size_t{1} << 20);
  for (std::size_t at = 0; at < text.size(); at += piece)
    reader.feed(std::string_view(text).substr(at, piece));
  reader.finish();

  const Log log = read(text);
  CHECK(faults.size() > 15);
  CHECK(texts(log.faults) == texts(faults));
  REQUIRE(log.events.size() == events.size());
  CHECK(std::ranges::equal(log.events, events,
                           [](const EventPtr& a, const EventPtr& b) { return *a == *b; }));
}
