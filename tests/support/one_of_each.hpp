#pragma once

#include <vector>

#include "tests/support/events.hpp"

namespace stonecall::test {

/// One event of each kind, each member filled.
inline std::vector<protocol::Event> one_of_each() {
  using namespace protocol;
  SampleTaken sample;
  sample.number = "14";
  sample.bag = "31";
  sample.rock = "slate";
  sample.station = "Ford";
  sample.place = Position{46.5, 8.25, 512.5};
  sample.tie = Tie{"BASE", 41.5, 120};
  sample.size_mm = 85;
  sample.buried = {40, 60};
  sample.picked = "the only dark one";
  sample.relation = "on gneiss";
  sample.like_it = {0, 5};
  sample.description = "cleaves";
  sample.shape = "slab";
  sample.colour = "grey";
  sample.texture = "fine";
  sample.unselective = true;
  const Words words{3, 17};
  std::vector<Body> bodies{
      PlanGiven{small_plan()},
      VoiceNote{"gr\u00fcner Schiefer \"here\"\n", "FIELD-2", 4.5},
      Arrival{"Ford"},
      Departure{"Ford"},
      Departure{},
      sample,
      Photo{"14", View::down_sun, 200},
      Sighting{"slate", false, "Ford"},
      Tally{{{"gneiss", 7}, {"slate", 0}}, 10, "Ford"},
      Share{"gneiss", {45, 55}, 50, "Ford", "FIELD-2"},
      Reading{id(4), Outcome::edited, sample, words, true},
      Reading{id(4), Outcome::accepted, Amend{id(5), {{"bag", "32"}}, "said so"}, {}, {}},
      Call{"Move on.", Says::move_on, clock(60), "Terrace", "slate", "14", clock(55), 0.7,
           "a new kind", true},
      CallAnswer{id(9), Answered::declined, "not yet"},
      Question{"in place?", Side::field, "14", "slate"},
      Answer{id(9), "fallen"},
      Remark{"talk about this", id(9), true},
      Amend{id(4), {{"total", 12}, {"station", nullptr}}, "miscounted"},
      Retract{id(4), "wrong net"},
      Damaged{"{\"id\":\"0f"},
      NotUnderstood{"balloon"},
  };
  std::vector<Event> events;
  for (auto& body : bodies) {
    const auto n = static_cast<std::uint32_t>(events.size() + 1);
    events.push_back(event(n, n, std::move(body)));
    events.back().received = clock(n + 0.2);
    events.back().unknown = {{"note_of_the_future", {{"a", {1, 2.5, nullptr}}}}};
  }
  return events;
}

}  // namespace stonecall::test
