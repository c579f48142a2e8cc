#include "console/charts/local_plane.hpp"

#include <cmath>
#include <numbers>

namespace stonecall::charts {
namespace {

constexpr double radians = std::numbers::pi / 180;

}  // namespace

// Radii of curvature in the meridian and in the prime vertical: Snyder, "Map Projections: A Working
// Manual" (USGS Professional Paper 1395, 1987), eq. 4-18 to 4-21, with the WGS-84 axis and
// flattening.
LocalPlane::LocalPlane(double latitude, double longitude)
    : latitude_(latitude), longitude_(longitude) {
  constexpr double a = 6378137.0, f = 1 / 298.257223563, e2 = f * (2 - f);
  double s = std::sin(latitude * radians);
  double w2 = 1 - e2 * s * s;
  metres_per_degree_north_ = radians * a * (1 - e2) / std::pow(w2, 1.5);
  metres_per_degree_east_ = radians * a / std::sqrt(w2) * std::cos(latitude * radians);
}

GroundPoint LocalPlane::operator()(double latitude, double longitude) const {
  // The short way round where the ground lies across the 180° meridian.
  double d = std::remainder(longitude - longitude_, 360.0);
  return {d * metres_per_degree_east_, (latitude - latitude_) * metres_per_degree_north_};
}

GroundPoint along(GroundPoint from, double bearing_degrees, double distance_metres) {
  double a = bearing_degrees * radians;
  return {from.east + distance_metres * std::sin(a), from.north + distance_metres * std::cos(a)};
}

}  // namespace stonecall::charts
