#include <chrono>
#include <cmath>

#include <catch2/catch.hpp>

#include "console/estimate/geodesy.hpp"
#include "console/estimate/sun.hpp"

namespace stonecall::estimate {
namespace {

using namespace std::chrono_literals;
using Catch::Matchers::WithinAbs;

constexpr Place plateau{64.8, -18.0};  // an invented training ground's corner

}  // namespace

TEST_CASE("From New York to London it is 5,551,759.4 metres") {
  // GeographicLib's documentation of GeodSolve, JFK to LHR, 40.6N 73.8W to 51.6N 0.5W: 5551759.400
  // m, azimuths 51.198883 and 107.821777 (from memory).
  const auto line = line_between({40.6, -73.8}, {51.6, -0.5});
  CHECK_THAT(line.distance_metres, WithinAbs(5551759.400, 0.001));
  CHECK_THAT(line.bearing_at_start, WithinAbs(51.198883, 1e-6));
  CHECK_THAT(line.bearing_at_end, WithinAbs(107.821777, 1e-6));
}

TEST_CASE("A walk and the line back to its start agree") {
  for (const double bearing : {0.0, 45.0, 133.0, 222.5, 359.9}) {
    for (const double distance : {0.5, 80.0, 4200.0}) {
      const auto end = walk(plateau, bearing, distance);
      const auto line = line_between(plateau, end.place);
      CHECK_THAT(line.distance_metres, WithinAbs(distance, 1e-6));
      CHECK_THAT(std::remainder(line.bearing_at_start - bearing, 360.0),
                 WithinAbs(0, 1e-4 / distance));
      CHECK_THAT(distance_metres(end.place, plateau), WithinAbs(distance, 1e-6));
    }
  }
}

TEST_CASE("Bearings lie from 0 to 360 and longitudes from -180 to 180") {
  for (double bearing = -720; bearing <= 720; bearing += 45) {
    const auto end = walk({0, 179.9999}, bearing, 5000);
    CHECK((end.bearing >= 0 && end.bearing < 360));
    CHECK((end.place.longitude >= -180 && end.place.longitude <= 180));
  }
}

TEST_CASE("Standing still has no bearing to speak of, but one that is a number") {
  const auto still = line_between(plateau, plateau);
  CHECK(still.distance_metres == 0);
  CHECK(still.bearing_at_start == 180);
  CHECK(line_between({-30, 10}, {-30, 10}).bearing_at_start == 0);
  CHECK_THAT(walk(plateau, 77, 0).place.latitude, WithinAbs(plateau.latitude, 1e-12));
}

TEST_CASE("The map grid has its exceptions in Norway and Svalbard and ends near the poles") {
  CHECK(map_grid({60.5, 4.0})->zone == 32);
  CHECK(map_grid({78.2, 15.6})->zone == 33);
  CHECK(map_grid({78.2, 8.9})->zone == 31);
  CHECK(map_grid({78.2, 21.0})->zone == 35);
  CHECK(map_grid({78.2, 41.9})->zone == 37);
  CHECK(map_grid({55.9, 4.0})->zone == 31);
  CHECK(map_grid({10, 180.0})->zone == 1);
  CHECK(map_grid({10, -180.0})->zone == 1);
  CHECK_FALSE(map_grid({84.1, 0}).has_value());
  CHECK_FALSE(map_grid({-80.1, 0}).has_value());
  CHECK_FALSE(map_grid({std::nan(""), 0}).has_value());
}

TEST_CASE("The sun crosses from the east through the south to the west over a day in the north") {
  const auto day = std::chrono::sys_days(std::chrono::year(2027) / 5 / 18);
  const auto morning = sun_position(day + 7h, plateau);
  const auto noon =
      sun_position(day + 13h + 8min,
                   plateau);  // 18 degrees west: 72 minutes after 12, less the equation of time
  const auto evening = sun_position(day + 19h, plateau);
  CHECK((morning.azimuth > 60 && morning.azimuth < 120));
  CHECK_THAT(noon.azimuth, WithinAbs(180, 1));
  CHECK((evening.azimuth > 240 && evening.azimuth < 300));
  CHECK(noon.elevation > morning.elevation);
  CHECK(noon.elevation > evening.elevation);
}

TEST_CASE("At noon the sun stands as high as latitude and season let it") {
  // At a solstice the declination is the obliquity of the ecliptic, 23.44 degrees: 90 − 64.8
  // + 23.44.
  const auto solstice = std::chrono::sys_days(std::chrono::year(2027) / 6 / 21);
  CHECK_THAT(sun_position(solstice + 13h + 14min, plateau).elevation, WithinAbs(48.63, 0.02));
}

TEST_CASE("The air lifts the sun by half a degree at the horizon and hardly at all overhead") {
  // Bennett's and Saemundsson's formulas both give about 29 arc minutes for a true elevation of 0
  // (Meeus 1998, Astronomical Algorithms, chapter 16, from memory).
  CHECK_THAT(seen_elevation(0) * 60, WithinAbs(29, 1));
  CHECK_THAT(seen_elevation(90), WithinAbs(90, 0.001));
  CHECK(seen_elevation(-5) == -5);
  double below = -1;
  for (double elevation = -0.8; elevation < 90; elevation += 0.1) {
    const double seen = seen_elevation(elevation);
    CHECK(seen > below);
    below = seen;
  }
}

TEST_CASE(
    "A camera pointing away from the sun takes a down-sun picture, one across it a cross-sun one") {
  const SunPosition sun{100, 25};
  CHECK(lighting(sun, 280) == Lighting::down_sun);
  CHECK(lighting(sun, 251) == Lighting::down_sun);
  CHECK(lighting(sun, 190) == Lighting::cross_sun);
  CHECK(lighting(sun, 10) == Lighting::cross_sun);
  CHECK(lighting(sun, 341) == Lighting::cross_sun);
  CHECK(lighting(sun, 100) == Lighting::up_sun);
  CHECK(lighting(sun, 235, 10) == Lighting::between);
  CHECK(lighting({100, -1}, 280) == Lighting::no_sun);
}

}  // namespace stonecall::estimate
