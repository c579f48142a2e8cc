#pragma once

#include "console/charts/interval_rows.hpp"
#include "console/debrief/pen.hpp"

namespace stonecall::debrief::sections {

/// Gives the rows' names the room they need, at most half of the chart.
void fit_names(charts::IntervalRows& plate);

/// In a table: the heading of a column of shares from 0 to 100 %, and the drawing of one row's
/// interval with what it is compared with below it. The table says the figures in words.
Markup share_axis();
Markup share_in_row(charts::IntervalRows::Row row, const Pen& pen);

}  // namespace stonecall::debrief::sections
