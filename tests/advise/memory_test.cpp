#include "console/advise/memory.hpp"

#include <random>
#include <string>

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "console/picture/history.hpp"
#include "protocol/log.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using advise::Memory;
using test::clock;
using test::id;
using test::shared;

namespace {

using Events = std::vector<EventPtr>;

Instant known_of(const Event& event) {
  return event.received.value_or(event.at).instant;
}

/// The recorded log with few draws: what is compared is the same, and comes sooner.
Events recorded(const std::string& name) {
  auto log = read_log_file(STONECALL_REPLAY_LOGS "/" + name);
  REQUIRE(log);
  for (auto& event : log->events) {
    const auto* given = std::get_if<PlanGiven>(&event->body);
    if (!given) continue;
    Event quicker = *event;
    std::get<PlanGiven>(quicker.body).plan.change().method.draws = 20;
    event = std::make_shared<const Event>(std::move(quicker));
  }
  std::ranges::stable_sort(log->events, {}, [](const EventPtr& event) { return known_of(*event); });
  return log->events;
}

void check_same(const picture::Picture& picture, Instant now, Memory& memory) {
  const auto with = advise::assess_with_advice(picture, now, memory);
  const auto without = advise::assess_with_advice(picture, now);
  // Not the assessments themselves: where they differ their text would be pages long.
  const bool same = with == without;
  CAPTURE(picture.events);
  CHECK(same);
}

/// Anything that changes what the method rests on, at a time of its own.
Body any_body(std::mt19937_64& random, std::uint32_t last) {
  const auto any = [&](int below) { return std::uniform_int_distribution(0, below - 1)(random); };
  const std::vector<std::string> rocks{"gneiss", "marble", "slate", "quartzite", "tuff"};
  const std::vector<std::string> stations{"Ford", "Terrace", "Quarry"};
  const auto rock = rocks[static_cast<std::size_t>(any(5))];
  const auto station = stations[static_cast<std::size_t>(any(3))];
  switch (any(10)) {
    case 0:
    case 1:
      return Tally{{{rock, any(8)}, {"gneiss", any(3)}}, 10, {}};
    case 2:
    case 3: {
      const double low = any(80);
      return Share{rock, {low, low + any(20)}, {}, {}, any(2) ? "FIELD-1" : "FIELD-2"};
    }
    case 4: {
      SampleTaken taken;
      taken.number = std::to_string(any(20));
      taken.rock = rock;
      taken.unselective = any(3) == 0;
      return taken;
    }
    case 5:
      return Arrival{station};
    case 6:
      return Retract{id(1 + static_cast<std::uint32_t>(any(static_cast<int>(last)))), {}};
    case 7:
      return Amend{
          id(1 + static_cast<std::uint32_t>(any(static_cast<int>(last)))), {{"rock", rock}}, {}};
    case 8:
      return VoiceNote{"On we go.", {}, {}};
    default:
      return protocol::Sighting{rock, any(2) == 0, {}};
  }
}

}  // namespace

TEST_CASE("an answer is worked out once, and the one used longest ago makes room for the next") {
  advise::Answers<int, int, 2> squares;
  int worked_out = 0;
  const auto square = [&](int x) {
    ++worked_out;
    return x * x;
  };
  CHECK(squares.of(3, square) == 9);
  CHECK(squares.of(4, square) == 16);
  CHECK(squares.of(3, square) == 9);
  CHECK(worked_out == 2);
  CHECK(squares.of(5, square) == 25);  // in the place of 4
  CHECK(squares.of(3, square) == 9);
  CHECK(worked_out == 3);
  CHECK(squares.of(4, square) == 16);
  CHECK(worked_out == 4);
}

TEST_CASE("a question that could not be answered is asked again") {
  advise::Answers<int, int, 2> answers;
  CHECK_THROWS(answers.of(1, [](int) -> int { throw std::bad_alloc(); }));
  CHECK(answers.of(1, [](int x) { return x; }) == 1);
}

TEST_CASE("two places of like evidence are drawn apart, one place alike each time") {
  Memory memory;
  const estimate::SharePosterior posterior{{1, 2, 3}, {0, 0, 0}, {}};
  const auto first = memory.draws_of(posterior, 10, {1, 0}).values;
  CHECK(memory.draws_of(posterior, 10, {1, 1}).values != first);
  CHECK(memory.draws_of(posterior, 10, {1, 0}).values == first);
  CHECK(Memory().draws_of(posterior, 10, {1, 0}).values == first);
}

TEST_CASE("event by event through a recorded exercise a memory changes no figure") {
  const auto events =
      recorded(GENERATE("varrow_rim.jsonl", "ravnhol.jsonl", "ravnhol.beginner.jsonl"));
  picture::Fold fold;
  Memory memory;
  for (const auto& event : events) {
    fold.add(event);
    check_same(*fold.picture(), known_of(*event), memory);
  }
}

TEST_CASE("whatever is said, taken back or looked at again, a memory changes no figure") {
  std::mt19937_64 random(20270519);
  for (int round = 0; round < 12; ++round) {
    auto plan = test::small_plan();
    plan.method.draws = 20;
    if (round % 2 == 0) plan.stations[1].expected = {{"marble", 50}, {"slate", 20}};
    Events events{shared(1, 0, PlanGiven{plan}, "BASE"), shared(2, 5, Arrival{"Ford"})};
    for (std::uint32_t n = 3; n < 60; ++n)
      events.push_back(
          shared(n, std::uniform_real_distribution<double>(5, 110)(random), any_body(random, n)));
    // As they come in, out of order; then back and forth, as a replay is scrubbed.
    picture::History history(events);
    Memory memory;
    for (std::size_t known = 1; known <= events.size(); ++known)
      check_same(*history.at(known), clock(5 + static_cast<double>(known)).instant, memory);
    for (int jump = 0; jump < 30; ++jump) {
      const auto known = std::uniform_int_distribution<std::size_t>(0, events.size())(random);
      check_same(*history.at(known), clock(std::uniform_int_distribution(0, 120)(random)).instant,
                 memory);
    }
  }
}
