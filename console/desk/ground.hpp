#pragma once

#include <optional>

#include "console/charts/plan_view.hpp"
#include "console/desk/region.hpp"
#include "console/plates/ground_plate.hpp"

namespace stonecall::desk {

struct GroundState {
  std::optional<charts::Viewport> viewport;  ///< none: all is fitted in

  // What was drawn last, kept while nothing changes.
  picture::PicturePtr picture;
  std::shared_ptr<const advise::Assessment> assessment;
  protocol::Instant sun_at{};
  plates::GroundPlate plate;
};

Commands draw_ground(const View& view, GroundState& state, Canvas& canvas);
std::span<const KeyLine> ground_keys();

}  // namespace stonecall::desk
