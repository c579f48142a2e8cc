// CPU time to build a frame of the desk (ImGui's draw lists; OpenGL excluded) with all regions
// open, following and looking back, at growing numbers of events. Prints medians and 99th
// percentiles, and how they grow.

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "tests/desk/headless.hpp"

using namespace stonecall;
using namespace stonecall::desk;
using namespace std::chrono_literals;

namespace {

/// The recorded exercise again and again, with fresh ids, until there are `count` events.
std::vector<protocol::EventPtr> many(std::size_t count) {
  auto once = desk::testing::hallow_beck();
  std::vector<protocol::EventPtr> events;
  events.reserve(count);
  for (std::size_t round = 0; events.size() < count; ++round) {
    for (const auto& event : once) {
      if (events.size() == count) break;
      if (round > 0 && std::holds_alternative<protocol::PlanGiven>(event->body)) continue;
      if (round > 0 && !std::holds_alternative<protocol::VoiceNote>(event->body)) continue;
      auto copy = std::make_shared<protocol::Event>(*event);
      if (round > 0) {
        copy->id = protocol::random_uuid();
        copy->at.instant += 2h * round / 1000;
        copy->seq.reset();
      }
      events.push_back(std::move(copy));
    }
  }
  return events;
}

struct Times {
  double median, worst_percent;
};

template <class Frame>
Times measure(Frame&& frame) {
  std::vector<double> ms;
  for (int i = 0; i < 300; ++i) {
    auto begin = std::chrono::steady_clock::now();
    frame();
    ms.push_back(std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin)
                     .count());
  }
  std::sort(ms.begin(), ms.end());
  return {ms[ms.size() / 2], ms[ms.size() * 99 / 100]};
}

}  // namespace

int main() {
  std::printf("%9s %12s %12s %12s %12s %12s\n", "events", "first ms", "follow ms", "p99", "back ms",
              "p99");
  double first_median = 0;
  for (std::size_t count : {1000UL, 10000UL, 100000UL}) {
    auto events = many(count);
    View view = desk::testing::view_of(events, events.back()->at.instant);
    desk::testing::Headless h;
    auto begin = std::chrono::steady_clock::now();
    h.frame(view);
    double first =
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin).count();
    Times follow = measure([&] { h.frame(view); });
    h.point(200, 500);
    Times back = measure([&] {
      h.wheel(2);
      h.frame(view);
    });
    if (first_median == 0) first_median = follow.median;
    std::printf("%9zu %12.2f %12.3f %12.3f %12.3f %12.3f   ×%.2f\n", count, first, follow.median,
                follow.worst_percent, back.median, back.worst_percent,
                follow.median / first_median);
  }
}
