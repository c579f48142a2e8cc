#pragma once

#include "console/desk/canvas.hpp"

namespace stonecall::desk {

/// The title line of the desk: the exercise by its name, beside it what is at hand (live, replay,
/// practice; what could not be sent or kept), at the right end the player and the time.
void draw_title(const View& view, Canvas& canvas, float baseline, Commands& out);

}  // namespace stonecall::desk
