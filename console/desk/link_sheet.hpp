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

/// "connected to 127.0.0.1:7700 since 0:12:30", "no link: a recorded log", "lost since …: why; 2
/// events wait to go out".
std::string link_text(const View& view, const ClockText& clock);
/// "2 posts meant for ridge:7700 (Varrow Rim, 2027-…) wait in FILE; a desk there sends them."
std::string elsewhere_text(const KeptElsewhere& kept);
/// "2 posts were typed before it was known which exercise this is, and not in its hours: …"; empty
/// where there is none.
std::string unclaimed_text(const LinkState& link);
/// "agrees", "ahead 45 s", "behind 2:00"; "–" where nobody can say.
std::string sender_clock_text(const picture::Sender& sender);

}  // namespace stonecall::desk
