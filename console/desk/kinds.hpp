#pragma once

#include <span>

#include "console/desk/kinds_opened.hpp"
#include "console/desk/kinds_table.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The kinds at a place: their table, and below it what is said of them or, of a chosen kind, all
/// that is known.
struct KindsState {
  bool whole = false;  ///< whole exercise instead of the station
  KindsTableState table;
  OpenedKindState opened;
};

Commands draw_kinds(const View& view, KindsState& state, Canvas& canvas);
std::span<const KeyLine> kinds_keys();

/// The height in pixels at which all rows stand in their places with all that is said below them,
/// drawn as wide as this canvas; 0 where there is no table. Nearly the same whatever the words are,
/// so that what stands beside it keeps its place.
float kinds_height(const View& view, KindsState& state, const Canvas& canvas);

}  // namespace stonecall::desk
