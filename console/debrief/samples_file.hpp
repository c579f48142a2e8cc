#pragma once

#include <string>

#include "console/picture/picture.hpp"

/// The samples of an exercise for other programs, each as all that was stated about it by the end.
namespace stonecall::debrief {

/// CSV after RFC 4180: UTF-8 without a mark, lines ending in CR LF, a heading line, fields in
/// quotes where they hold a comma, a quote or a line break. Texts stand as they were said; a field
/// may begin with '=' or '-', so have a spreadsheet take the columns as text. Empty: not stated.
std::string samples_csv(const picture::Picture& picture);

/// GeoJSON after RFC 7946: a FeatureCollection with a point for each sample, longitude before
/// latitude, WGS-84; `geometry` is null where nobody said where it lay. `place_from` says whether
/// the coordinates were stated or worked out from a tie.
std::string samples_geojson(const picture::Picture& picture);

}  // namespace stonecall::debrief
