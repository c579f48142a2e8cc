#pragma once

#include <chrono>

#include "console/estimate/geodesy.hpp"

namespace stonecall::estimate {

using UtcInstant = std::chrono::sys_time<std::chrono::milliseconds>;

/// Where the sun stands for somebody on the ground.
struct SunPosition {
  double azimuth = 0;    ///< 0 … 360 degrees from true north, eastward
  double elevation = 0;  ///< degrees above the level horizon, −90 … 90, no refraction
};

/// By libnova (VSOP87, nutation, aberration), corrected for parallax; UT1 is taken as UTC. Within
/// 0.01 degrees of Reda & Andreas 2004 (Solar Energy 76:577-589) for years 1950 to 2100, except for
/// the azimuth close to the zenith.
SunPosition sun_position(UtcInstant time, const Place& place);

/// Elevation as it is seen, lifted by the air: Saemundsson's formula as in Reda & Andreas 2004,
/// eq. 42. Pressure in hPa (mbar), temperature in °C.
double seen_elevation(double elevation, double pressure_hpa = 1010,
                      double temperature_celsius = 10);

/// How a photograph was lit, told from where the camera pointed.
enum class Lighting { down_sun, cross_sun, up_sun, between, no_sun };

/// Down-sun: the camera points away from the sun, ± the tolerance; cross-sun: 90 degrees from the
/// sun's azimuth, ± the tolerance; up-sun: towards it. no_sun: the sun is below the horizon.
/// Degrees; the tolerance is common practice, no source.
Lighting lighting(const SunPosition& sun, double camera_bearing, double tolerance_degrees = 30);

}  // namespace stonecall::estimate
