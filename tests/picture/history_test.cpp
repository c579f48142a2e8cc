#include "console/picture/history.hpp"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using test::id;
using test::shared;

namespace {

using Events = std::vector<EventPtr>;

SampleTaken sample(std::uint32_t number) {
  SampleTaken taken;
  taken.number = std::to_string(number);
  taken.rock = "slate";
  return taken;
}

/// 3,000 events in the order in which they were heard: notes and their readings, answers, samples,
/// counts, some of it late, some of it put right or taken back long after.
Events long_exercise(std::uint32_t seed) {
  std::mt19937 random(seed);
  Events events;
  std::uint32_t note = 1, call = 1;
  for (std::uint32_t n = 1; n <= 3000; ++n) {
    const double late = random() % 50 == 0 ? 8.0 : random() % 5 == 0 ? 0.2 : 0;
    const double minute = std::max(0.0, n / 20.0 - late);
    const auto add = [&](Body body) { events.push_back(shared(n, minute, std::move(body))); };
    switch (random() % 9) {
      case 0:
        add(Arrival{random() % 2 ? "Ford" : "Terrace"});
        break;
      case 1:
      case 2:
        add(sample(n / 30));
        break;
      case 3:
        add(Tally{{{"gneiss", 4}}, 10, {}});
        break;
      case 4:
        note = n;
        add(VoiceNote{"slate here", {}, {}});
        break;
      case 5:
        add(Reading{id(note), Outcome::accepted, Sighting{"slate", true, {}}, {}, {}});
        break;
      case 6: {
        call = n;
        Call made;
        made.text = "count ten for us";
        add(std::move(made));
        break;
      }
      case 7:
        add(CallAnswer{id(call), Answered::heard, {}});
        break;
      default:
        // What it names is just heard, long past, or still to come.
        const std::uint32_t back = random() % 20 == 0 ? 1500 : 40;
        const std::uint32_t named =
            n + 10 > back ? n + 10 - static_cast<std::uint32_t>(random() % back) : n + 10;
        if (random() % 2)
          add(Retract{id(named), {}});
        else
          add(Amend{id(named), Json{{"rock", "schist"}}, {}});
        break;
    }
  }
  return events;
}

picture::PicturePtr fresh(const Events& events, std::size_t known) {
  return picture::fold(std::span(events).first(known));
}

}  // namespace

TEST_CASE("going back and forth shows what a fresh fold of what was known then shows") {
  const auto seed = GENERATE(1u, 2u, 3u, 4u, 218u);
  const Events events = long_exercise(seed);
  picture::History history(events);
  std::mt19937 random(seed);
  for (std::size_t known : {std::size_t{400}, std::size_t{2990}, std::size_t{2991}, std::size_t{0}})
    CHECK(*history.at(known) == *fresh(events, known));
  for (int i = 0; i < 40; ++i) {
    const std::size_t known = random() % (events.size() + 1);
    CAPTURE(seed, known);
    CHECK(*history.at(known) == *fresh(events, known));
    if (known < events.size()) CHECK(*history.at(known + 1) == *fresh(events, known + 1));
  }
}

TEST_CASE("preparing ahead changes nothing and comes to an end") {
  const Events events = long_exercise(11);
  picture::History history(events);
  CHECK(history.at(100)->events == 100);
  int times = 0;
  while (history.prepare(500)) ++times;
  CHECK(times == 5);
  CHECK_FALSE(history.prepare(500));
  CHECK(*history.at(100) == *fresh(events, 100));
  CHECK(*history.at(3000) == *fresh(events, 3000));
}

TEST_CASE("an event that is put in later is there from its place on") {
  Events events = long_exercise(12);
  picture::History history(events);
  history.at(3000);
  const auto remark = shared(9000, 50, Remark{"look at this again", {}, {}});
  history.insert(1000, remark);
  CHECK(history.size() == 3001);
  CHECK(*history.at(1000) == *fresh(events, 1000));
  events.insert(events.begin() + 1000, remark);
  for (std::size_t known : {3001, 1001, 2000, 500}) {
    CAPTURE(known);
    CHECK(*history.at(known) == *fresh(events, known));
  }
}

TEST_CASE("what is put in after all was prepared is there from its place on, at the end too") {
  Events events = long_exercise(13);
  picture::History history(events);
  while (history.prepare(700)) continue;
  std::uint32_t next = 9000;
  for (const std::size_t place : {std::size_t{3000}, std::size_t{2900}, std::size_t{3004}}) {
    const auto remark = shared(++next, 50, Remark{"look at this again", {}, {}});
    history.insert(place, remark);
    events.insert(events.begin() + static_cast<std::ptrdiff_t>(place), remark);
    for (const std::size_t known :
         {std::size_t{3000}, place + 1, events.size(), place, std::size_t{10}}) {
      CAPTURE(place, known);
      CHECK(*history.at(known) == *fresh(events, known));
    }
    while (history.prepare(700)) continue;
    CHECK(*history.at(events.size()) == *fresh(events, events.size()));
    history.insert(events.size(), shared(++next, 200, Remark{"and this", {}, {}}));
    events.push_back(shared(next, 200, Remark{"and this", {}, {}}));
    CHECK(*history.at(events.size()) == *fresh(events, events.size()));
  }
}

TEST_CASE("where nothing is recorded there is an empty picture") {
  picture::History history;
  CHECK(history.at(5)->events == 0);
  CHECK_FALSE(history.prepare(10));
}
