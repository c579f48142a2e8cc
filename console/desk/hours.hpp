#pragma once

#include <span>

#include "console/desk/hours_ruler.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The hours of the exercise: its title line, the large clocks, the ruler.
struct HoursState {
  RulerState ruler;
};

/// `compact`, `words_below`: as in Layout.
Commands draw_hours(const View& view, HoursState& state, Canvas& canvas, bool compact,
                    bool words_below);
std::span<const KeyLine> hours_keys();

}  // namespace stonecall::desk
