#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "protocol/plan.hpp"

/// Places marked in a map program, to begin a plan with.
namespace stonecall::commands {

struct Place {
  std::string name;  ///< "stop 3" where the file gives none; unique
  protocol::Position position;
  bool operator==(const Place&) const = default;
};

/// The points of a GeoJSON text (RFC 7946) in its order, by their property "name"; the points of a
/// MultiPoint are numbered. Lines, areas and features without a place are passed over. Names are
/// brought into one line and cut to Limits::name_bytes; a height beyond 12 km is none. Faults: no
/// GeoJSON, a point outside the globe, no point at all.
protocol::Result<std::vector<Place>> places_from_geojson(std::string_view text);

/// The waypoints of a GPX 1.1 text (Topografix, 2004) in its order; where it has none the points of
/// its routes. Names and heights as above. Faults name the line.
protocol::Result<std::vector<Place>> places_from_gpx(std::string_view text);

/// Either, told apart by how it begins.
protocol::Result<std::vector<Place>> places_from(std::string_view text);

/// A plan to be changed by hand: the place that is called base (else the first) is the base, the
/// others are stations in their order with equal time. Without places an invented example.
protocol::Plan starter_plan(std::vector<Place> places, const std::string& name,
                            protocol::Timestamp start);

/// What was begun, and what first wants to be put right in it, in one line.
std::string told_of(const protocol::Plan& plan);

}  // namespace stonecall::commands
