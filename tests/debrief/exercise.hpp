#pragma once

#include <vector>

#include "console/debrief/look_back.hpp"
#include "tests/support/events.hpp"

namespace stonecall::test {

/// An invented afternoon at Larch Hollow, event by event.
class Exercise {
 public:
  explicit Exercise(const protocol::Plan& plan = small_plan()) {
    say(-5, protocol::PlanGiven{plan}, "BASE");
  }

  /// Said at a minute, received as much later.
  std::uint32_t say(double minute, protocol::Body body, std::string from = "FIELD-1",
                    double late = 0) {
    auto made = event(++last_, minute, std::move(body), std::move(from));
    made.received = clock(minute + late);
    events_.push_back(std::make_shared<const Event>(std::move(made)));
    return last_;
  }

  const std::vector<EventPtr>& events() const { return events_; }
  debrief::Debrief look_back() const { return debrief::look_back({"larch.jsonl", events_, {}}); }

 private:
  std::uint32_t last_ = 0;
  std::vector<EventPtr> events_;
};

inline protocol::SampleTaken sample(std::string number, std::string rock) {
  protocol::SampleTaken taken;
  taken.number = std::move(number);
  taken.rock = std::move(rock);
  return taken;
}

inline protocol::Call call(std::string text) {
  protocol::Call made;
  made.text = std::move(text);
  return made;
}

}  // namespace stonecall::test
