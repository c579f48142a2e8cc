#pragma once

#include "console/desk/canvas.hpp"
#include "console/desk/heard_filter.hpp"

/// What filters stands right in the heading of Heard as words to press; the search has a line below
/// it.
namespace stonecall::desk {

struct HeardSearch {
  bool open = false;           ///< the line is there
  bool take_keyboard = false;  ///< put the cursor into it
  bool typing = false;         ///< it has the keyboard
};
void open_search(HeardSearch& search);

/// Draws both and does what their keys and presses ask for; returns the y below.
float draw_heard_heading(const picture::Picture& picture, HeardFilter& filter, HeardSearch& search,
                         Canvas& canvas, Commands& out);

}  // namespace stonecall::desk
