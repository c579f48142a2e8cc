#include "console/estimate/sun.hpp"

#include <cmath>
#include <numbers>

#include <libnova/dynamical_time.h>
#include <libnova/nutation.h>
#include <libnova/sidereal_time.h>
#include <libnova/solar.h>
#include <libnova/transform.h>

namespace stonecall::estimate {
namespace {

constexpr double degree = std::numbers::pi / 180;
constexpr double horizontal_parallax = 8.794 / 3600;  // degrees, at one astronomical unit
constexpr double unix_epoch_julian_day = 2440587.5;
constexpr double j2000 = 2451545.0;

// libnova 0.16 gives the sun on the ecliptic and equinox of J2000 but turns it to the equator with
// the obliquity of date, so that ln_get_solar_equ_coords is a third of a degree off by 2024. We
// carry the longitude to the equinox of date first (general precession, Capitaine et al. 2003,
// Astronomy & Astrophysics 412:567-586), and the latitude, at most 0.6 arc seconds a year, with it
// (Meeus 1998, Astronomical Algorithms, eq. 21.7, first order).
ln_equ_posn apparent_sun(double dynamical_day) {
  ln_helio_posn sun{};
  ln_get_solar_geom_coords(dynamical_day, &sun);
  const double centuries = (dynamical_day - j2000) / 36525;
  const double precession = (5028.796195 + 1.1054348 * centuries) * centuries / 3600;
  const double tilt = 47.0029 * centuries / 3600;  // of the ecliptic of date
  const double node = 174.876;                     // its node on that of J2000
  ln_nutation nutation{};
  ln_get_nutation(dynamical_day, &nutation);
  const double aberration = -20.4898 / 3600 / sun.R;
  ln_lnlat_posn ecliptic{sun.L + precession + nutation.longitude + aberration,
                         sun.B + tilt * std::sin((node - sun.L) * degree)};
  ln_equ_posn equatorial{};
  ln_get_equ_from_ecl(&ecliptic, dynamical_day, &equatorial);
  return equatorial;
}

}  // namespace

SunPosition sun_position(UtcInstant time, const Place& place) {
  const double days =
      std::chrono::duration<double, std::chrono::days::period>(time.time_since_epoch()).count();
  const double universal = unix_epoch_julian_day + days;
  auto apparent = apparent_sun(ln_get_jde(universal));
  ln_lnlat_posn observer{place.longitude, place.latitude};
  ln_hrz_posn seen{};
  ln_get_hrz_from_equ_sidereal_time(&apparent, &observer, ln_get_apparent_sidereal_time(universal),
                                    &seen);
  // libnova counts azimuth from the south, westward.
  return {std::fmod(seen.az + 180, 360.0),
          seen.alt - horizontal_parallax * std::cos(seen.alt * degree)};
}

double seen_elevation(double elevation, double pressure_hpa, double temperature_celsius) {
  if (elevation < -0.83337)
    return elevation;  // the whole disc is below the horizon: nothing is seen
  const double lift_minutes = 1.02 / std::tan((elevation + 10.3 / (elevation + 5.11)) * degree);
  return elevation + pressure_hpa / 1010 * 283 / (273 + temperature_celsius) * lift_minutes / 60;
}

Lighting lighting(const SunPosition& sun, double camera_bearing, double tolerance_degrees) {
  if (sun.elevation <= 0) return Lighting::no_sun;
  const double from_sun = std::abs(std::remainder(camera_bearing - sun.azimuth, 360.0));
  if (from_sun >= 180 - tolerance_degrees) return Lighting::down_sun;
  if (from_sun <= tolerance_degrees) return Lighting::up_sun;
  if (std::abs(from_sun - 90) <= tolerance_degrees) return Lighting::cross_sun;
  return Lighting::between;
}

}  // namespace stonecall::estimate
