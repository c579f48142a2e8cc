#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "console/desk/member_text.hpp"
#include "console/desk/region.hpp"
#include "console/picture/alterations.hpp"

namespace stonecall::desk {

/// A line of Heard with its members, to be put right, and what was done to it, over the other
/// regions.
struct LineState {
  std::optional<protocol::Uuid> event;  ///< whose line it is
  /// Not posted yet: by event (the line's, or that of a reading of it) and member.
  std::map<std::pair<protocol::Uuid, std::string>, protocol::Json> changes;
  std::string why;  ///< of what is posted next
  std::optional<protocol::Uuid>
      retracting;       ///< the reason is being typed for which it is taken back
  std::size_t row = 0;  ///< among those that can be put right, then the reason
  std::size_t first = 0;
  bool typing = false;
  bool take_keyboard = false;
  std::string typed;
  std::string fault;

  /// Kept while the picture is the same.
  struct Part {
    protocol::EventPtr event;  ///< as it stands: the line's own, or a reading
    std::string title;
    bool retracted = false;
    std::vector<picture::Alteration> history;
  };
  picture::PicturePtr of;
  std::optional<protocol::Uuid> of_event;
  std::vector<Part> parts;
};

Commands draw_line(const View& view, LineState& state, Canvas& canvas);
std::span<const KeyLine> line_keys();

/// Opens the sheet on a line; `retract`: with the reason to be typed for which it is taken back.
void open_line(LineState& state, const ask::OpenLine& wish);

}  // namespace stonecall::desk
