#include "console/charts/frame.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::charts {

double Scale::operator()(double value) const {
  if (!(high > low) || !std::isfinite(high - low) || std::isnan(value)) return begin;
  double part = (std::clamp(value, low, high) - low) / (high - low);
  return begin + part * (end - begin);
}

Label kept_inside(Label label, const Chart& chart, const Measure& measure) {
  Box area = area_of(label, measure);
  if (area.right() > chart.width) label.at.x -= area.right() - chart.width;
  area = area_of(label, measure);
  if (area.x < 0) label.at.x -= area.x;
  if (area.y < 0) label.at.y -= area.y;
  if (area.bottom() > chart.height) label.at.y -= area.bottom() - chart.height;
  return label;
}

void draw_x_axis(Chart& chart, const Frame& frame, const std::vector<Tick>& ticks,
                 const Measure& measure) {
  double y = frame.area.bottom();
  chart.items.push_back(Line{{frame.area.x, y}, {frame.area.right(), y}, {{Tone::soft, {}}, 1}});
  std::vector<Label> labels;
  for (const Tick& tick : ticks) {
    if (!frame.x.holds(tick.value)) continue;
    double x = frame.x(tick.value);
    chart.items.push_back(Line{{x, y}, {x, y + 4}, {{Tone::soft, {}}, 1}});
    Label label{.at = {x, y + 17}, .text = tick.text, .anchor = Anchor::middle};
    labels.push_back(kept_inside(label, chart, measure));
  }
  // The ends say how far the axis goes; of those between as many as have room.
  constexpr double gap = 6;
  const double end = labels.empty() ? 0 : area_of(labels.back(), measure).x;
  double free_from = -1e9;
  for (std::size_t i = 0; i < labels.size(); ++i) {
    Box area = area_of(labels[i], measure);
    const bool is_end = i == 0 || i + 1 == labels.size();
    if (area.x < free_from || (!is_end && area.right() + gap > end)) continue;
    free_from = area.right() + gap;
    chart.items.push_back(labels[i]);
  }
}

void draw_y_grid(Chart& chart, const Frame& frame, const std::vector<Tick>& ticks) {
  for (const Tick& tick : ticks) {
    if (!frame.y.holds(tick.value)) continue;
    double y = frame.y(tick.value);
    if (y < frame.area.bottom() - 0.5)
      chart.items.push_back(
          Line{{frame.area.x, y}, {frame.area.right(), y}, {{Tone::grid, {}}, 1}});
    chart.items.push_back(
        Label{.at = {frame.area.x - 6, y + 4}, .text = tick.text, .anchor = Anchor::end});
  }
}

}  // namespace stonecall::charts
