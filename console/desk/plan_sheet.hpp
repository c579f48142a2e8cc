#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "console/desk/plan_changes.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

/// The plan as a table, over the other regions.
struct PlanState {
  PlanEdits edits;         ///< not posted yet; kept while the sheet is away
  std::size_t row = 0;     ///< of stations, then of kinds
  std::size_t column = 0;  ///< of kinds: number wanted, weight
  std::size_t first = 0;   ///< first row shown
  bool typing = false;     ///< a cell is open to be typed in
  bool take_keyboard = false;
  std::string typed;
  std::string fault;  ///< why what was typed cannot stand
  /// Arrivals at the stations of the plan as it is shown, elapsed; worked out once a change.
  std::vector<protocol::Milliseconds> planned;
  picture::PicturePtr planned_in;
  PlanEdits planned_with;
};

Commands draw_plan(const View& view, PlanState& state, Canvas& canvas);
std::span<const KeyLine> plan_keys();

}  // namespace stonecall::desk
