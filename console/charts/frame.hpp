#pragma once

#include <string>
#include <vector>

#include "console/charts/chart.hpp"
#include "console/charts/measure.hpp"

namespace stonecall::charts {

/// Values to pixels along one axis; `low` < `high`. Values outside are held at the ends.
struct Scale {
  double low = 0, high = 1;   ///< values
  double begin = 0, end = 1;  ///< pixels; end < begin for an axis that grows upwards

  double operator()(double value) const;
  bool holds(double value) const { return value >= low && value <= high; }
};

/// The area of a plot inside its chart, with a scale each way.
struct Frame {
  Box area;
  Scale x, y;

  Point operator()(double vx, double vy) const { return {x(vx), y(vy)}; }
};

struct Tick {
  double value = 0;
  std::string text;
  bool operator==(const Tick&) const = default;
};

/// A rule along the lower edge with its ticks and their words below; words that would touch are
/// left out, from left to right.
void draw_x_axis(Chart& chart, const Frame& frame, const std::vector<Tick>& ticks,
                 const Measure& measure);

/// Faint rules across with their words to the left of the area.
void draw_y_grid(Chart& chart, const Frame& frame, const std::vector<Tick>& ticks);

/// The label, moved so that it lies inside the chart.
Label kept_inside(Label label, const Chart& chart, const Measure& measure);

}  // namespace stonecall::charts
