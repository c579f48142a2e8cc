#pragma once

#include <optional>

namespace stonecall::estimate {

/// WGS-84, degrees; latitude −90 … 90 north, longitude −180 … 180 east.
struct Place {
  double latitude = 0;
  double longitude = 0;
};

/// Where a walk along a geodesic ends.
struct WalkEnd {
  Place place;
  double bearing = 0;  ///< of going on straight, 0 … 360 degrees from true north, eastward
};

/// The geodesic between two places.
struct Line {
  double distance_metres = 0;
  double bearing_at_start = 0;  ///< 0 … 360 degrees from true north, eastward
  double bearing_at_end = 0;    ///< of going on straight
};

/// Both by Karney's formulas (2013, Journal of Geodesy 87:43-55) as in Boost.Geometry, series of
/// order 8: far better than a millimetre. Places and bearings must be finite and latitudes in range
/// (asserted). Between a place and itself a bearing means nothing; as GeographicLib does, it is 180
/// from the equator northward and 0 south of it.
WalkEnd walk(const Place& from, double bearing_degrees, double distance_metres);
Line line_between(const Place& from, const Place& to);

double distance_metres(const Place& from, const Place& to);

/// Universal Transverse Mercator, as printed on field maps.
struct MapGrid {
  int zone = 0;  ///< 1 … 60
  bool north = true;
  double easting_metres = 0;
  double northing_metres = 0;
};

/// With the exceptions for south-west Norway and Svalbard. Accurate to a millimetre within the
/// zone. Latitudes −80 … 84 are what the grid is made for; nearer the poles there is none.
std::optional<MapGrid> map_grid(const Place& place);

}  // namespace stonecall::estimate
