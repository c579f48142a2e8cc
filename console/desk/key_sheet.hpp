#pragma once

#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The keys of the region in focus and of the whole desk, over everything else.
void draw_key_sheet(RegionId focus, const View& view, Canvas& canvas);

}  // namespace stonecall::desk
