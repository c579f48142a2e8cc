#pragma once

#include <vector>

#include "console/desk/canvas.hpp"

namespace stonecall::desk {

/// Instants on the ruler against pixels.
struct Ruler {
  protocol::Instant begin{}, end{};
  float x0 = 0, x1 = 1;

  float x(protocol::Instant at) const;
  protocol::Instant at(float x) const;  ///< within begin and end
};

/// The whole exercise: planned start to planned end, and what was recorded beyond either.
Ruler ruler_for(const View& view, float x0, float x1);

struct RulerState {
  bool dragging = false;  ///< it is being scrubbed

  // Found by looking at every event, so only once a picture.
  picture::PicturePtr picture;
  std::vector<picture::Outage> outages;
  // Walked through by the plan's pace where the plan does not say it, so only once a picture too.
  picture::PicturePtr planned_in;
  std::vector<protocol::Milliseconds> planned;  ///< arrivals at the plan's stations, elapsed
};

/// Above the line what was planned, below it what was walked, gathered and called, and what is
/// advised; of a recorded log it is the scrubber. `top`: of the planned stays, screen pixels.
void draw_ruler(const View& view, RulerState& state, Canvas& canvas, float top, Commands& out);

}  // namespace stonecall::desk
