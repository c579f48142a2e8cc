#include "console/estimate/geodesy.hpp"

#include <cassert>
#include <cmath>
#include <numbers>

// Boost 1.81 swaps a geodesic scale that it did not compute; nothing reads it.
#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC diagnostic ignored "-Wmaybe-uninitialized"
#endif
#include <boost/geometry/formulas/karney_direct.hpp>
#include <boost/geometry/formulas/karney_inverse.hpp>
#include <boost/geometry/geometries/point.hpp>
#include <boost/geometry/srs/projection.hpp>
#include <boost/geometry/srs/spheroid.hpp>

namespace stonecall::estimate {
namespace {

namespace bg = boost::geometry;

constexpr double degree = std::numbers::pi / 180;

const bg::srs::spheroid<double>& wgs84() {
  static const bg::srs::spheroid<double> ellipsoid(6378137.0, 6378137.0 * (1 - 1 / 298.257223563));
  return ellipsoid;
}

double to_bearing(double radians) {
  const double bearing = std::remainder(radians / degree, 360.0);
  return bearing < 0 ? bearing + 360 : std::abs(bearing);
}

bool possible(const Place& place) {
  return std::abs(place.latitude) <= 90 && std::isfinite(place.longitude);
}

}  // namespace

WalkEnd walk(const Place& from, double bearing_degrees, double distance_metres) {
  assert(possible(from) && std::isfinite(bearing_degrees) && std::isfinite(distance_metres));
  using Direct = bg::formula::karney_direct<double, true, true>;
  const auto end = Direct::apply(from.longitude * degree, from.latitude * degree, distance_metres,
                                 std::remainder(bearing_degrees, 360.0) * degree, wgs84());
  return {{end.lat2 / degree, std::remainder(end.lon2 / degree, 360.0)},
          to_bearing(end.reverse_azimuth)};
}

Line line_between(const Place& from, const Place& to) {
  assert(possible(from) && possible(to));
  using Inverse = bg::formula::karney_inverse<double, true, true, true>;
  const auto line = Inverse::apply(from.longitude * degree, from.latitude * degree,
                                   to.longitude * degree, to.latitude * degree, wgs84());
  return {line.distance, to_bearing(line.azimuth), to_bearing(line.reverse_azimuth)};
}

double distance_metres(const Place& from, const Place& to) {
  return line_between(from, to).distance_metres;
}

namespace {

int zone_of(const Place& place) {
  const double longitude = std::remainder(place.longitude, 360.0);
  const double east = longitude == 180 ? -180 : longitude;
  const int zone = static_cast<int>(std::floor((east + 180) / 6)) + 1;
  if (place.latitude >= 56 && place.latitude < 64 && zone == 31 && east >= 3) return 32;
  if (place.latitude >= 72 && east >= 0 && east < 42) {
    return east < 9 ? 31 : east < 21 ? 33 : east < 33 ? 35 : 37;
  }
  return zone;
}

}  // namespace

std::optional<MapGrid> map_grid(const Place& place) {
  if (!possible(place) || place.latitude < -80 || place.latitude > 84) return std::nullopt;
  namespace spar = bg::srs::spar;
  using Point = bg::model::point<double, 2, bg::cs::geographic<bg::degree>>;
  using Map = bg::model::point<double, 2, bg::cs::cartesian>;
  MapGrid grid{zone_of(place), place.latitude >= 0, 0, 0};
  // The extended series: the short one (tmerc) is good only near the middle of the zone.
  using Parameters = spar::parameters<spar::proj_etmerc, spar::ellps_wgs84, spar::lon_0<>,
                                      spar::k_0<>, spar::x_0<>, spar::y_0<>>;
  const double central_meridian = grid.zone * 6 - 183;
  const bg::srs::projection<Parameters> transverse_mercator(
      Parameters(spar::proj_etmerc(), spar::ellps_wgs84(), spar::lon_0<>(central_meridian),
                 spar::k_0<>(0.9996), spar::x_0<>(500000), spar::y_0<>(grid.north ? 0 : 10000000)));
  Map map;
  if (!transverse_mercator.forward(Point(place.longitude, place.latitude), map))
    return std::nullopt;
  grid.easting_metres = bg::get<0>(map);
  grid.northing_metres = bg::get<1>(map);
  return grid;
}

}  // namespace stonecall::estimate
