#pragma once

#include <cstddef>

#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The sheet of keys: as many pages as its lines need at this size of window and type.
struct KeySheet {
  bool shown = false;
  std::size_t page = 0;
  std::size_t pages = 1;  ///< found while drawing
};

/// The key of the sheet: shows it, goes through its pages, puts it away after the last.
void turn_key_sheet(KeySheet& sheet);

/// The keys of the region in focus and of the whole desk, over everything else.
void draw_key_sheet(RegionId focus, const View& view, KeySheet& sheet, Canvas& canvas);

}  // namespace stonecall::desk
