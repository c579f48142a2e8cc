#pragma once

#include "console/desk/canvas.hpp"

namespace stonecall::desk {

/// The large clocks from `top` on: the stay here, the latest departure, until when a call is
/// useful, the last word, what is documented. What each is measured against stands beside it or, in
/// a narrow window, below (as in Layout). Fixed places, so that nothing moves while the clocks run.
void draw_figures(const View& view, Canvas& canvas, float top, bool words_below);

}  // namespace stonecall::desk
