#pragma once

namespace stonecall::charts {

/// Metres east and north of an origin.
struct GroundPoint {
  double east = 0, north = 0;
  bool operator==(const GroundPoint&) const = default;
};

/// A plan of ground a few kilometres wide: the plane that touches WGS-84 at the origin, in the
/// equirectangular way (one length of a degree of latitude, one of longitude, both taken at the
/// origin). For drawing only: 5 km from an origin below 70° of latitude distances are within 0.3 %;
/// figures that are shown come from the geodesic.
class LocalPlane {
 public:
  /// Degrees; latitude within ±89.
  LocalPlane(double latitude, double longitude);

  GroundPoint operator()(double latitude, double longitude) const;

 private:
  double latitude_, longitude_;
  double metres_per_degree_north_, metres_per_degree_east_;
};

/// Where a bearing (degrees from north, eastward) and a distance lead on the plane.
GroundPoint along(GroundPoint from, double bearing_degrees, double distance_metres);

}  // namespace stonecall::charts
