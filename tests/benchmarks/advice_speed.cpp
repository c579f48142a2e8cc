// How long the whole advice takes, and how that grows. Run by hand; times are the fastest of
// several runs, growth is the ratio to the base case of the same run.
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <random>

#include "console/advise/allocation.hpp"
#include "console/advise/asking.hpp"
#include "tests/advise/made_up_journey.hpp"

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

}  // namespace

int main() {
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
}
