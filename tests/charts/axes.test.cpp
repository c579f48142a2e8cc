#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "console/charts/decimate.hpp"
#include "console/charts/frame.hpp"
#include "console/charts/ticks.hpp"

using namespace stonecall::charts;

TEST_CASE("an axis from 0 to 105 with room for six has round twenties") {
  CHECK(nice_ticks(0, 105, 6) == std::vector<double>{0, 20, 40, 60, 80, 100});
}

TEST_CASE("an axis never has a value outside what it shows") {
  CHECK(nice_ticks(-0.31, 0.29, 8) ==
        std::vector<double>{-0.30000000000000004, -0.2, -0.1, 0, 0.1, 0.2});
}

TEST_CASE("an axis with no extent, or none that is finite, has no ticks") {
  CHECK(nice_ticks(3, 3, 5).empty());
  CHECK(nice_ticks(4, 3, 5).empty());
  CHECK(nice_ticks(0, std::nan(""), 5).empty());
  CHECK(nice_ticks(0, HUGE_VAL, 5).empty());
  CHECK(nice_ticks(0, 1, 1).empty());
}

TEST_CASE("a range at the limits of a double has few ticks or none, all finite") {
  for (auto [low, high] :
       {std::pair{-1e308, 1e308}, {0.0, 5e-324}, {1.0, std::nextafter(1.0, 2.0)}, {0.0, 1e-310}}) {
    auto ticks = nice_ticks(low, high, 6);
    CHECK(ticks.size() <= 6);
    for (double t : ticks) CHECK(std::isfinite(t));
  }
}

TEST_CASE(
    "ticks are multiples of 1, 2 or 5 times a power of ten, at most as many as asked, inside the "
    "range") {
  std::mt19937 random(7);
  std::uniform_real_distribution<double> exponent(-6, 6), part(-1, 1);
  for (int i = 0; i < 2000; ++i) {
    double low = part(random) * std::pow(10, exponent(random)),
           high = low + std::pow(10, exponent(random));
    int most = 2 + i % 9;
    auto ticks = nice_ticks(low, high, most);
    INFO(low << " … " << high << ", at most " << most);
    REQUIRE(static_cast<int>(ticks.size()) <= most);
    for (double t : ticks)
      REQUIRE((t >= low - 1e-6 * (high - low) && t <= high + 1e-6 * (high - low)));
    bool told_apart = high - low > 1e-6 * std::abs(low);  // else the digits of a double end
    if (ticks.size() < 2 || !told_apart) continue;
    double step = ticks[1] - ticks[0];
    double digit = step / std::pow(10, std::floor(std::log10(step) + 1e-6));
    REQUIRE(
        (std::abs(digit - 1) < 1e-4 || std::abs(digit - 2) < 1e-4 || std::abs(digit - 5) < 1e-4));
  }
}

TEST_CASE("a time axis steps in minutes that a clock shows") {
  CHECK(minute_ticks(0, 150, 6) == std::vector<double>{0, 30, 60, 90, 120, 150});
  CHECK(minute_ticks(60, 105, 6) == std::vector<double>{60, 70, 80, 90, 100});
  CHECK(minute_ticks(0, 1440, 6) == std::vector<double>{0, 300, 600, 900, 1200});
}

TEST_CASE("minutes are written as hours and minutes, with a true minus before the start") {
  CHECK(minute_text(0) == "0:00");
  CHECK(minute_text(79.4) == "1:19");
  CHECK(minute_text(-5) == "−0:05");
  CHECK(minute_text(std::nan("")) == "–");
}

TEST_CASE("a number on an axis has as many decimals as its step needs") {
  CHECK(number_text(0.25, 0.05) == "0.25");
  CHECK(number_text(20, 5) == "20");
  CHECK(number_text(-0.5, 0.1) == "−0.5");
  CHECK(number_text(0, 0.1) == "0");
}

TEST_CASE("a scale holds what lies outside at its ends and answers for no number") {
  Scale scale{0, 10, 100, 200};
  CHECK(scale(5) == 150);
  CHECK(scale(-3) == 100);
  CHECK(scale(1e300) == 200);
  CHECK(scale(std::nan("")) == 100);
}

TEST_CASE("a long curve keeps the highest and lowest point of each pixel column") {
  std::vector<Point> points;
  std::mt19937 random(3);
  std::normal_distribution<double> noise(50, 10);
  for (int i = 0; i < 100000; ++i) points.push_back({i * 300.0 / 100000, noise(random)});
  points[50000].y = -400;
  points[70001].y = 900;
  auto drawn = decimated(points);
  CHECK(drawn.size() <= 4 * 300);
  CHECK(drawn.front() == points.front());
  CHECK(drawn.back() == points.back());
  auto holds = [&](Point p) { return std::find(drawn.begin(), drawn.end(), p) != drawn.end(); };
  CHECK(holds(points[50000]));
  CHECK(holds(points[70001]));
  CHECK(std::is_sorted(drawn.begin(), drawn.end(), [](Point a, Point b) { return a.x < b.x; }));
}

TEST_CASE("a way that turns back is drawn with all its points") {
  std::vector<Point> way;
  for (int i = 0; i < 500; ++i) way.push_back({std::sin(i * 0.1) * 20, i * 0.1});
  CHECK(decimated(way) == way);
}

TEST_CASE("points that are not finite are left out of a curve") {
  std::vector<Point> points{{0, 1}, {std::nan(""), 2}, {2, HUGE_VAL}, {3, 4}};
  CHECK(decimated(points) == std::vector<Point>{{0, 1}, {3, 4}});
}
