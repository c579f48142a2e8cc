#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "console/desk/region.hpp"
#include "console/picture/senders.hpp"

namespace stonecall::desk {

/// The way words take to us, who sends them, and what of them wants a look; over the other regions.
struct LinkSheetState {
  std::size_t row = 0;    ///< of what wants a look
  std::size_t first = 0;  ///< first row shown
  // Worked out once for a picture.
  picture::PicturePtr picture;
  std::vector<picture::Sender> senders;
  std::vector<picture::Outage> outages;
};

Commands draw_link(const View& view, LinkSheetState& state, Canvas& canvas);
std::span<const KeyLine> link_keys();

}  // namespace stonecall::desk
