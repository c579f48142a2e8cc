// How long a debrief takes, and how that grows with events and with calls. Run by hand:
// debrief_speed [LOG]. Larger logs are made from a recorded one: each event of it several times
// over, with ids, field numbers and bags of its own; movements and the plan stay single.
#include <algorithm>
#include <cstdio>
#include <ctime>

#include "console/debrief/look_back.hpp"
#include "console/debrief/report.hpp"
#include "protocol/log.hpp"

using namespace stonecall;
using protocol::Event;
using protocol::EventPtr;
using protocol::Uuid;

namespace {

Uuid of_copy(Uuid id, std::size_t copy) {
  for (std::size_t i = 0; i < 4; ++i) id.data[i] ^= static_cast<std::uint8_t>(copy >> (8 * i));
  return id;
}

/// Names what it refers to by the ids of the same copy.
struct Renamed {
  std::size_t copy;

  void operator()(protocol::SampleTaken& taken) const {
    if (taken.number) *taken.number += "/" + std::to_string(copy);
    if (taken.bag) *taken.bag += "/" + std::to_string(copy);
  }
  void operator()(protocol::Photo& photo) const {
    if (photo.sample) *photo.sample += "/" + std::to_string(copy);
  }
  void operator()(protocol::Reading& reading) const {
    reading.note = of_copy(reading.note, copy);
    std::visit(*this, reading.fact);
  }
  void operator()(protocol::CallAnswer& answer) const { answer.call = of_copy(answer.call, copy); }
  void operator()(protocol::Answer& answer) const {
    answer.question = of_copy(answer.question, copy);
  }
  void operator()(protocol::Amend& amend) const { amend.target = of_copy(amend.target, copy); }
  void operator()(protocol::Retract& retract) const {
    retract.target = of_copy(retract.target, copy);
  }
  void operator()(auto&) const {}
};

bool stays_single(const Event& event, bool calls_too) {
  const bool call = std::holds_alternative<protocol::Call>(event.body) ||
                    std::holds_alternative<protocol::CallAnswer>(event.body);
  return std::holds_alternative<protocol::PlanGiven>(event.body) ||
         std::holds_alternative<protocol::Arrival>(event.body) ||
         std::holds_alternative<protocol::Departure>(event.body) || (call && !calls_too);
}

std::vector<EventPtr> times_over(const std::vector<EventPtr>& events, std::size_t copies,
                                 bool calls_too) {
  std::vector<EventPtr> many;
  std::uint64_t seq = 0;
  for (const EventPtr& event : events) {
    for (std::size_t copy = 0; copy < copies; ++copy) {
      if (copy > 0 && stays_single(*event, calls_too)) break;
      Event made = *event;
      made.seq = ++seq;
      if (copy > 0) {
        made.id = of_copy(made.id, copy);
        std::visit(Renamed{copy}, made.body);
      }
      many.push_back(std::make_shared<const Event>(std::move(made)));
    }
  }
  return many;
}

double seconds(std::clock_t from, std::clock_t to) {
  return static_cast<double>(to - from) / CLOCKS_PER_SEC;
}

}  // namespace

int main(int argc, char** argv) {
  const auto log =
      protocol::read_log_file(argc > 1 ? argv[1] : STONECALL_REPLAY_LOGS "/varrow_rim.jsonl");
  if (!log) return 2;
  std::printf(
      "| log | events | calls | looking back, s | writing, s | together, ratio | page, MB |\n"
      "| --- | --- | --- | --- | --- | --- | --- |\n");
  double base = 0;
  const auto row = [&](const char* name, std::size_t copies, bool calls_too, int runs) {
    const debrief::Material material{"log", times_over(log->events, copies, calls_too), {}};
    double back_s = 1e9, page_s = 1e9;
    std::size_t calls = 0, size = 0;
    for (int run = 0; run < runs; ++run) {
      const auto begin = std::clock();
      const auto back = debrief::look_back(material);
      const auto between = std::clock();
      const auto page = debrief::report(back);
      page_s = std::min(page_s, seconds(between, std::clock()));
      back_s = std::min(back_s, seconds(begin, between));
      calls = back.calls.size();
      size = page.size();
    }
    if (base == 0) base = back_s + page_s;
    std::printf("| %s | %zu | %zu | %.2f | %.2f | %.1f | %.1f |\n", name, material.events.size(),
                calls, back_s, page_s, (back_s + page_s) / base, static_cast<double>(size) / 1e6);
    std::fflush(stdout);
  };
  row("as recorded", 1, false, 3);
  row("10 times as dense", 10, false, 1);
  row("60 times as dense", 60, false, 1);
  row("120 times as dense", 120, false, 1);
  row("10 times as dense, calls too", 10, true, 1);
}
