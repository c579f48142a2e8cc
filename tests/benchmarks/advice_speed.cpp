// How long the whole advice takes, and how that grows; then what an event costs that arrives in a
// recorded exercise, with the memory of the assessment before it and without. Run by hand:
// advice_speed [LOG]. Times of the first table are the fastest of several runs; growth is the ratio
// to the base case of the same run.
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <random>
#include <string>
#include <type_traits>

#include "console/advise/allocation.hpp"
#include "console/advise/asking.hpp"
#include "console/advise/memory.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"
#include "tests/advise/made_up_journey.hpp"

using namespace stonecall;
using namespace stonecall::advise;

namespace {

struct Size {
  std::size_t draws = 500, stations = 8, kinds = 12;
  double minutes = 150;
};

double fastest_ms(const Size& size, int runs = 5) {
  std::mt19937_64 random(1);
  const MadeUp made = made_up(size.kinds, size.draws, size.stations, size.minutes, random);
  double best = 1e9;
  for (int run = 0; run < runs; ++run) {
    const auto begin = std::clock();
    const auto departure = best_departure(made.kinds, made.draws, made.journey);
    const auto end = std::clock();
    if (!departure || departure->late) std::puts("  no departure?");
    best = std::min(best, 1000.0 * static_cast<double>(end - begin) / CLOCKS_PER_SEC);
  }
  return best;
}

double fastest_asking_ms(const Size& size, int runs = 5) {
  std::mt19937_64 random(1);
  const MadeUp made = made_up(size.kinds, size.draws, size.stations, size.minutes, random);
  const auto departure = best_departure(made.kinds, made.draws, made.journey);
  double best = 1e9;
  for (int run = 0; run < runs; ++run) {
    const auto begin = std::clock();
    const auto worth = worth_of_asking(*departure, made.draws, {}, random);
    const auto end = std::clock();
    if (worth.p_changes < 0) std::puts("  impossible");
    best = std::min(best, 1000.0 * static_cast<double>(end - begin) / CLOCKS_PER_SEC);
  }
  return best;
}

/// Milliseconds that a call of `work` takes.
template <class Work>
double ms_of(const Work& work) {
  const auto begin = std::clock();
  work();
  return 1000.0 * static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
}

struct Cost {
  double whole = 0, incremental = 0, worst_whole = 0, worst_incremental = 0;
  std::size_t events = 0;

  void add(double without_memory, double with_memory) {
    whole += without_memory;
    incremental += with_memory;
    worst_whole = std::max(worst_whole, without_memory);
    worst_incremental = std::max(worst_incremental, with_memory);
    ++events;
  }
  void print(const char* name) const {
    const auto n = static_cast<double>(std::max<std::size_t>(events, 1));
    std::printf("| %s | %zu | %.2f | %.2f | %.2f | %.1f | %.1f |\n", name, events, whole / n,
                incremental / n, incremental / whole, worst_whole, worst_incremental);
  }
};

bool changes_the_ground(const protocol::Event& event) {
  const auto of = [](const auto& body) {
    using Body = std::decay_t<decltype(body)>;
    if constexpr (std::is_same_v<Body, protocol::SampleTaken>)
      return body.unselective.value_or(false);
    return std::is_same_v<Body, protocol::Tally> || std::is_same_v<Body, protocol::Share> ||
           std::is_same_v<Body, protocol::Amend> || std::is_same_v<Body, protocol::Retract>;
  };
  const auto* reading = std::get_if<protocol::Reading>(&event.body);
  return reading ? std::visit(of, reading->fact) : std::visit(of, event.body);
}

void one_event_arriving(const std::string& path) {
  const auto log = protocol::read_log_file(path);
  if (!log) return;
  std::printf(
      "\n| an event arrives | events | whole, ms | incremental, ms | ratio | slowest whole | "
      "slowest "
      "incremental |\n| --- | --- | --- | --- | --- | --- | --- |\n");
  Cost numbers, all, counting, other;
  picture::Fold fold;
  Memory memory;
  for (const auto& event : log->events) {
    fold.add(event);
    const auto picture = fold.picture();
    const auto now = event->received.value_or(event->at).instant;
    Assessment assessment;
    const double numbers_ms = ms_of([&] { assessment = assess(*picture, now, memory); });
    const double call_ms = ms_of([&] { work_out_advice(*picture, assessment, memory); });
    numbers.add(ms_of([&] { assess(*picture, now); }), numbers_ms);
    const double whole_ms = ms_of([&] { assess_with_advice(*picture, now); });
    all.add(whole_ms, numbers_ms + call_ms);
    (changes_the_ground(*event) ? counting : other).add(whole_ms, numbers_ms + call_ms);
  }
  numbers.print("numbers without the call");
  all.print("numbers and call");
  counting.print("of these: a count, a share, a correction");
  other.print("of these: any other event");
}

}  // namespace

int main(int argc, char** argv) {
  const Size base;
  const double base_ms = fastest_ms(base);
  std::printf("| case | ms | ratio |\n| --- | --- | --- |\n");
  std::printf("| base: 500 draws, 8 stations ahead, 12 kinds, 150 minutes | %.1f | 1 |\n", base_ms);
  std::printf("| worth of asking for a tally, on top | %.1f | %.2f |\n", fastest_asking_ms(base),
              fastest_asking_ms(base) / base_ms);
  const auto row = [&](const char* name, Size size) {
    const double ms = fastest_ms(size);
    std::printf("| %s | %.1f | %.2f |\n", name, ms, ms / base_ms);
  };
  for (const std::size_t draws : {250u, 1000u, 2000u})
    row((std::to_string(draws) + " draws").c_str(), {draws, 8, 12, 150});
  for (const std::size_t stations : {2u, 4u, 16u})
    row((std::to_string(stations) + " stations ahead").c_str(), {500, stations, 12, 150});
  for (const std::size_t kinds : {6u, 24u})
    row((std::to_string(kinds) + " kinds").c_str(), {500, 8, kinds, 150});
  for (const double minutes : {75.0, 300.0})
    row((std::to_string(static_cast<int>(minutes)) + " minutes").c_str(), {500, 8, 12, minutes});
  one_event_arriving(argc > 1 ? argv[1] : STONECALL_REPLAY_LOGS "/varrow_rim.jsonl");
}
