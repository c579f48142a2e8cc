#include "console/advise/way_ahead.hpp"

#include <limits>
#include <random>

#include <catch2/catch.hpp>

#include "tests/advise/made_up_journey.hpp"

using namespace stonecall::advise;

namespace {

/// Gain of the stays, or nothing where the party would not be back in time.
double gain_of(const Grid& grid, const std::vector<std::vector<double>>& gains, int left,
               const Stays& stays) {
  double gain = 0;
  std::size_t place = 0;
  for (std::size_t p = 1; p < stays.size(); ++p) {
    if (stays[p] == 0) continue;
    left -= grid.walks[place][p] + stays[p];
    if (left < 0) return -1;
    gain += gains[p][static_cast<std::size_t>(stays[p])];
    place = p;
  }
  return left >= grid.to_base[place] ? gain : -1;
}

double best_of_all(const Grid& grid, const std::vector<std::vector<double>>& gains, int left) {
  double best = 0;
  Stays stays(grid.to_base.size(), 0);
  while (true) {
    best = std::max(best, gain_of(grid, gains, left, stays));
    std::size_t p = 1;
    while (p < stays.size() && ++stays[p] > left) stays[p++] = 0;
    if (p == stays.size()) return best;
  }
}

}  // namespace

TEST_CASE("dynamic programming finds what trying every plan finds, whatever the gains and walks") {
  std::mt19937_64 random(67);
  std::uniform_int_distribution<int> walk(0, 6);
  std::uniform_real_distribution<double> uniform;
  for (int i = 0; i < 60; ++i) {
    Journey journey = line_journey(3, 1, 14);
    for (auto& station : journey.ahead) {
      station.from_here = walk(random);
      station.to_base =
          uniform(random) < 0.1 ? std::numeric_limits<double>::infinity() : walk(random);
      for (double& earlier : station.from_earlier) earlier = walk(random);
    }
    const Grid grid = on_grid(journey);
    std::vector<std::vector<double>> gains(4, std::vector<double>(15, 0.0));
    for (auto& of_place : gains)
      for (std::size_t m = 1; m < of_place.size(); ++m)
        of_place[m] = of_place[m - 1] + (uniform(random) < 0.5 ? 0 : uniform(random));
    const Stays found = best_separate_stays(grid, gains, 14);
    CAPTURE(i, found);
    // The same numbers added in another order: equal but for the last digits.
    CHECK(gain_of(grid, gains, 14, found) == Approx(best_of_all(grid, gains, 14)).margin(1e-12));
  }
}

TEST_CASE("walks are rounded up to whole minutes and minutes left down") {
  Journey journey = line_journey(1, 2.1, 59.9);
  const Grid grid = on_grid(journey);
  CHECK(grid.minutes_left == 59);
  CHECK(grid.walks[0][1] == 3);
  CHECK(grid.to_base[0] == 3);
  CHECK(whole_minutes_up(4) == 4);
  CHECK(whole_minutes_up(4 + 1e-12) == 4);
}

TEST_CASE("with no way home from a station it is never visited") {
  Journey journey = line_journey(1, 2, 60);
  journey.ahead[0].to_base = std::numeric_limits<double>::infinity();
  const std::vector<std::vector<double>> gains(2, std::vector<double>(61, 1.0));
  CHECK(best_separate_stays(on_grid(journey), gains, 60) == Stays{0, 0});
}

TEST_CASE("stops carry the time of arrival") {
  const Grid grid = on_grid(line_journey(3, 5, 100));
  CHECK(stops_of(grid, {0, 10, 0, 20}, 12) == std::vector<Stop>{{0, 17, 10}, {2, 37, 20}});
}
