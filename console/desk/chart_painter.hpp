#pragma once

#include "console/charts/chart.hpp"
#include "console/charts/measure.hpp"
#include "console/desk/canvas.hpp"

/// Charts in the window.
namespace stonecall::desk {

/// How wide the window's own letters are, in design pixels. Holds on to the fonts: for this frame
/// only.
charts::Measure measure_of(const Fonts& fonts);

/// Draws a chart with its upper left corner at `at` (screen pixels), at the desk's scale, in its
/// theme. Straight rules stand on whole pixels. Nothing is drawn outside the chart's frame.
void paint(Canvas& canvas, const charts::Chart& chart, ImVec2 at);

}  // namespace stonecall::desk
