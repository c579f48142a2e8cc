#pragma once

#include "console/charts/timeline.hpp"
#include "console/debrief/look_back.hpp"
#include "console/debrief/pen.hpp"

namespace stonecall::debrief::sections {

/// Stations as planned and as walked, with the calls by number; as wide as the page's column and as
/// long as the plan or the log. `pen` writes this debrief's times.
charts::Timeline ruler(const Debrief& debrief, const Pen& pen);

}  // namespace stonecall::debrief::sections
