#pragma once

#include "console/charts/interval_rows.hpp"

namespace stonecall::debrief::sections {

/// Gives the rows' names the room they need, at most half of the chart.
void fit_names(charts::IntervalRows& plate);

}  // namespace stonecall::debrief::sections
