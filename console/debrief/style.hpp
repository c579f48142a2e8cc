#pragma once

#include <string_view>

namespace stonecall::debrief {

/// The report's style sheet: ink on white, one accent for what wants attention, four type sizes
/// (28, 18, 14 and 12 px: on paper 21, 13.5, 10.5 and 9 points). The running heads are added by the
/// report, since they hold the exercise's name.
extern const std::string_view style_sheet;

}  // namespace stonecall::debrief
