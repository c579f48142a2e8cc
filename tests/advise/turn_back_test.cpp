#include "console/advise/turn_back.hpp"

#include <array>
#include <cmath>
#include <limits>

#include <catch2/catch.hpp>

using namespace stonecall::advise;
using Catch::Matchers::WithinAbs;

TEST_CASE("walking speed on slopes agrees with the published values of Tobler's function") {
  // Speeds to two decimals by angle, the table of sample values in Wikipedia's "Tobler's hiking
  // function" (after Tobler 1993, NCGIA Technical Report 93-1); 6 km/h is the top speed, at a slope
  // of −0.05.
  const auto [degrees, kmh] = GENERATE(table<double, double>({{-50, 0.11},
                                                              {-30, 0.95 - 0.005},
                                                              {-20, 2.00},
                                                              {-10, 3.86},
                                                              {-5, 5.26},
                                                              {-2.8624, 6.00},
                                                              {0, 5.04},
                                                              {1, 4.74},
                                                              {5, 3.71},
                                                              {10, 2.72},
                                                              {20, 1.41},
                                                              {30, 0.67},
                                                              {40, 0.27}}));
  CAPTURE(degrees);
  const double slope = std::tan(degrees * std::acos(-1.0) / 180);
  if (std::abs(slope) <= 1) CHECK_THAT(tobler_speed_kmh(slope), WithinAbs(kmh, 0.0051));
}

TEST_CASE("nobody walks slopes steeper than one in one: the speed stays that of one in one") {
  CHECK(tobler_speed_kmh(50) == tobler_speed_kmh(1));
  CHECK(tobler_speed_kmh(-50) == tobler_speed_kmh(-1));
}

TEST_CASE("a climb takes its time however short it is on the map") {
  // By hand: 60 m up or down at one in one, 6e^−3.675 = 0.152097 and 6e^−3.325 = 0.215835 km/h.
  const WalkingPace by_heights{3, 0.2, true};
  const double map = GENERATE(0.0, 1.0, 20.0, 60.0);
  CAPTURE(map);
  CHECK_THAT(*walking_minutes(std::array{Leg{map, 60}}, by_heights), WithinAbs(23.6692, 0.001));
  CHECK_THAT(*walking_minutes(std::array{Leg{map, -60}}, by_heights), WithinAbs(16.6794, 0.001));
}

TEST_CASE("without heights the way is walked at the plan's speed") {
  const std::array legs{Leg{900, {}}, Leg{600, 40}};
  CHECK_THAT(*walking_minutes(legs, {3, 0.2, false}), WithinAbs(30, 1e-9));
}

TEST_CASE("with heights each leg is walked at the speed of its slope") {
  // By hand: 1 km on the flat at 6e^−0.175 = 5.0367 km/h is 11.913 min; 1 km rising 100 m (slope
  // 0.1) at 6e^−0.525 = 3.5493 km/h is 16.905 min.
  const std::array legs{Leg{1000, 0}, Leg{1000, 100}};
  CHECK_THAT(*walking_minutes(legs, {3, 0.2, true}), WithinAbs(11.913 + 16.905, 0.002));
}

TEST_CASE(
    "a leg whose heights are not known is walked at the plan's speed even where heights are used") {
  const std::array legs{Leg{1000, {}}};
  CHECK_THAT(*walking_minutes(legs, {4, 0.2, true}), WithinAbs(15, 1e-9));
}

TEST_CASE("the latest departure leaves the walk and its margin before the time to be back") {
  const std::array legs{Leg{1500, {}}};
  const auto times = turn_back_times(legs, {3, 0.2, false}, 150, {0.5, 3});
  REQUIRE(times);
  CHECK_THAT(times->walk_minutes, WithinAbs(30, 1e-9));
  CHECK_THAT(times->margin_minutes, WithinAbs(6, 1e-9));
  CHECK_THAT(times->latest_departure, WithinAbs(114, 1e-9));
  CHECK_THAT(times->latest_useful_call, WithinAbs(110.5, 1e-9));
}

TEST_CASE("a longer way, a wider margin or a later link never make the latest useful call later") {
  const WalkingPace pace{3, 0.2, false};
  const auto base = *turn_back_times(std::array{Leg{800, {}}}, pace, 120, {0, 3});
  CHECK(turn_back_times(std::array{Leg{900, {}}}, pace, 120, {0, 3})->latest_useful_call <
        base.latest_useful_call);
  CHECK(
      turn_back_times(std::array{Leg{800, {}}}, {3, 0.4, false}, 120, {0, 3})->latest_useful_call <
      base.latest_useful_call);
  CHECK(turn_back_times(std::array{Leg{800, {}}}, pace, 120, {1, 3})->latest_useful_call <
        base.latest_useful_call);
}

TEST_CASE("a distance, height or speed that cannot be is named as a fault") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(walking_minutes(std::array{Leg{10, {}}, Leg{-1, {}}}, {}).error().member ==
        "legs[1].distance_metres");
  CHECK(walking_minutes(std::array{Leg{10, nan}}, {}).error().member == "legs[0].rise_metres");
  CHECK(walking_minutes(std::array{Leg{10, {}}}, {0, 0.2, false}).error().member == "speed_kmh");
  CHECK(walking_minutes(std::array{Leg{1e300, {}}}, {1e-300, 0.2, false}).error().member ==
        "speed_kmh");
  CHECK_FALSE(turn_back_times(std::array{Leg{10, {}}}, {}, nan, {}));
  CHECK_FALSE(turn_back_times(std::array{Leg{10, {}}}, {}, 100, {-1, 0}));
}

TEST_CASE("no way to walk takes no time") {
  CHECK(*walking_minutes({}, {}) == 0);
}
