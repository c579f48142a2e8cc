#include "console/charts/interval_rows.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::charts {
namespace {

constexpr double axis_height = 22;

bool drawable(const std::optional<Interval>& v) {
  return v && std::isfinite(v->mean) && std::isfinite(v->low) && std::isfinite(v->high);
}

}  // namespace

double height_of(const IntervalRows& rows) {
  return static_cast<double>(rows.rows.size()) * rows.row_height + (rows.axis ? axis_height : 0);
}

Chart interval_rows(const IntervalRows& spec, const Measure& measure) {
  Chart chart{.width = spec.width,
              .height = height_of(spec),
              .title = spec.title,
              .description = spec.description,
              .items = {}};
  double bottom = static_cast<double>(spec.rows.size()) * spec.row_height;
  double left = spec.name_gutter + spec.side;
  double right = std::max(left + 1, spec.width - spec.value_gutter - spec.side);
  Frame frame{
      {left, 0, right - left, bottom}, {spec.low, spec.high, left, right}, {0, 1, 0, bottom}};

  for (const Tick& tick : spec.ticks) {
    if (!frame.x.holds(tick.value)) continue;
    double x = frame.x(tick.value);
    chart.items.push_back(Line{{x, 0}, {x, bottom}, {{Tone::grid, {}}, 1}});
  }
  for (std::size_t i = 0; i < spec.rows.size(); ++i) {
    const auto& row = spec.rows[i];
    double y = (static_cast<double>(i) + 0.5) * spec.row_height;
    double baseline = y + 5;
    if (spec.name_gutter > 0) {
      chart.items.push_back(Line{{0, y + spec.row_height / 2},
                                 {spec.width, y + spec.row_height / 2},
                                 {{Tone::hairline, {}}, 1}});
      chart.items.push_back(Mark{.at = {7, y},
                                 .size = 10,
                                 .colour = {Tone::soft, {}},
                                 .hollow = !row.series,
                                 .series = row.series});
      chart.items.push_back(Label{.at = {21, baseline},
                                  .text = row.name,
                                  .size = TextSize::text,
                                  .weight = TextWeight::medium,
                                  .colour = {row.faint ? Tone::soft : Tone::ink, {}}});
    }
    Colour colour = row.series ? series_colour(*row.series) : Colour{Tone::soft, {}};
    if (drawable(row.beside)) {
      double below = y + std::min(7.0, spec.row_height / 4);
      chart.items.push_back(Line{{frame.x(row.beside->low), below},
                                 {frame.x(row.beside->high), below},
                                 {{Tone::soft, {}}, 1}});
      chart.items.push_back(Mark{.at = {frame.x(row.beside->mean), below},
                                 .size = 6,
                                 .colour = {Tone::soft, {}},
                                 .hollow = true});
    }
    if (drawable(row.value)) {
      double at = drawable(row.beside) ? y - std::min(4.0, spec.row_height / 8) : y;
      chart.items.push_back(
          Line{{frame.x(row.value->low), at}, {frame.x(row.value->high), at}, {colour, 2}});
      chart.items.push_back(Mark{.at = {frame.x(row.value->mean), at},
                                 .size = 9,
                                 .colour = colour,
                                 .hollow = row.faint || !row.series});
      if (spec.value_gutter > 0)
        chart.items.push_back(Label{.at = {spec.width, baseline},
                                    .text = row.words,
                                    .size = TextSize::text,
                                    .colour = {Tone::ink, {}},
                                    .anchor = Anchor::end});
    } else if (!row.words.empty()) {
      // In the value gutter where there is one, else in the free plot.
      chart.items.push_back(
          Label{.at = {spec.width, baseline}, .text = row.words, .anchor = Anchor::end});
    }
  }
  if (spec.axis) draw_x_axis(chart, frame, spec.ticks, measure);
  return chart;
}

}  // namespace stonecall::charts
