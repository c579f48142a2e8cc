#include "console/charts/curves.hpp"

#include <algorithm>
#include <cmath>

#include "console/charts/cut_to_fit.hpp"
#include "console/charts/ticks.hpp"

namespace stonecall::charts {
namespace {

bool finite(const CurvePoint& p) {
  return std::isfinite(p.x) && std::isfinite(p.y) && std::isfinite(p.low) && std::isfinite(p.high);
}

/// The curve at x, on the straight lines between its points; none outside.
template <class Points>
std::optional<double> at(const Points& points, double x) {
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto &a = points[i - 1], &b = points[i];
    if (x < a.x || x > b.x) continue;
    return b.x > a.x ? a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x) : b.y;
  }
  return std::nullopt;
}

Band band_of(const std::vector<CurvePoint>& points, const Frame& frame) {
  Band band;
  for (const auto& p : points)
    band.slices.push_back({frame.x(p.x), frame.y(p.high), frame.y(p.low)});
  return band;
}

Polyline line_of(const std::vector<CurvePoint>& points, const Frame& frame, Stroke stroke) {
  Polyline line{{}, stroke};
  for (const auto& p : points) line.points.push_back(frame(p.x, p.y));
  return line;
}

std::vector<Tick> y_ticks(double low, double high, int most) {
  std::vector<Tick> ticks;
  auto values = nice_ticks(low, high, most);
  double step = values.size() > 1 ? values[1] - values[0] : 1;
  for (double v : values) ticks.push_back({v, number_text(v, step)});
  return ticks;
}

double widest(const std::vector<Tick>& ticks, const Measure& measure) {
  double w = 0;
  for (const auto& t : ticks) w = std::max(w, measure(t.text, TextSize::fine, TextWeight::regular));
  return w;
}

constexpr double head = 22, foot = 24;

/// Does the line through these points enter the box?
template <class Points>
bool runs_through(const Points& points, const Frame& frame, const Box& box) {
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Point a = frame(points[i - 1].x, points[i - 1].y), b = frame(points[i].x, points[i].y);
    const double from = std::max(a.x, box.x), to = std::min(b.x, box.right());
    if (from > to) continue;
    const auto y = [&](double x) {
      return b.x > a.x ? a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x) : b.y;
    };
    const double one = b.x > a.x ? y(from) : a.y, other = y(to);
    if (std::max(one, other) >= box.y && std::min(one, other) <= box.bottom()) return true;
  }
  return false;
}

/// The name of the other curve, where nothing runs through it: over or under the curve as near as
/// can be, rather to the right and where it is not taken for that of `curve`; else above the plot,
/// behind a piece of the curve.
template <class IsFree>
void name_other(Chart& chart, const Crossing& spec, const Frame& frame,
                const std::vector<CurvePoint>& curve, const std::vector<Point>& other,
                const IsFree& is_free, const Measure& measure) {
  const Box& area = frame.area;
  // A name is as long as somebody made it.
  Label name{.at = {},
             .text = cut_to_fit(spec.other_name, area.w * 0.72, measure),
             .colour = {Tone::link, {}},
             .anchor = Anchor::end,
             .halo = true};
  const double w = area_of(name, measure).w;
  std::optional<Point> best;
  double least = 1e18;
  for (double right = area.right(); right - w > area.x + 4; right -= area.w / 32) {
    double top = area.bottom(), bottom = area.y;
    for (int k = 0; k <= 24; ++k) {
      const double x = right - w * k / 24.0;
      const auto y = at(other, frame.x.low + (frame.x.high - frame.x.low) * (x - area.x) / area.w);
      if (!y) continue;
      top = std::min(top, frame.y(*y));
      bottom = std::max(bottom, frame.y(*y));
    }
    for (const bool over : {true, false}) {
      name.at = {right, over ? top - 6 : bottom + 14};
      const Box box = area_of(name, measure);
      constexpr double near = 16;
      const Box around{box.x, box.y - near, box.w, box.h + 2 * near};
      const bool near_curve = runs_through(curve, frame, around);
      const double cost =
          bottom - top + (over ? 0 : 8) + (near_curve ? 24 : 0) + (area.right() - right) * 0.02;
      if (cost >= least || box.y < area.y - 8 || box.bottom() > area.bottom() - 2 || !is_free(name))
        continue;
      least = cost;
      best = name.at;
    }
  }
  if (best) {
    name.at = *best;
    chart.items.push_back(kept_inside(name, chart, measure));
    return;
  }
  constexpr double piece = 16, beside = 6, gap = 14;
  const double before = measure(spec.axis_name, TextSize::fine, TextWeight::regular) + gap;
  name.text = cut_to_fit(spec.other_name, spec.width - before - piece - beside, measure);
  if (name.text.empty()) return;
  name.at = {spec.width, 11};
  const double from = area_of(name, measure).x - beside;
  chart.items.push_back(Line{{from - piece, 7}, {from, 7}, {{Tone::link, {}}, 1.5}});
  chart.items.push_back(name);
}

}  // namespace

Chart crossing(const Crossing& spec, const Measure& measure) {
  Chart chart{.width = spec.width,
              .height = spec.height,
              .title = spec.title,
              .description = spec.description,
              .items = {}};
  auto curve = spec.curve;
  std::erase_if(curve, [](const CurvePoint& p) { return !finite(p); });
  auto other = spec.other;
  std::erase_if(other, [](Point p) { return !std::isfinite(p.x) || !std::isfinite(p.y); });
  if (curve.size() < 2 || !(curve.back().x > curve.front().x)) return chart;

  double top = 0;
  for (const auto& p : curve) top = std::max({top, p.y, p.high});
  for (Point p : other) top = std::max(top, p.y);
  if (!(top > 0)) top = 1;
  double x0 = std::min(curve.front().x, spec.now.value_or(curve.front().x)), x1 = curve.back().x;

  auto grid = y_ticks(0, top, spec.height < 130 ? 3 : 4);
  double gutter = std::ceil(widest(grid, measure)) + 8;
  Box area{gutter, head, std::max(1.0, spec.width - gutter - 8),
           std::max(1.0, spec.height - head - foot)};
  Frame frame{area, {x0, x1, area.x, area.right()}, {0, top * 1.04, area.bottom(), area.y}};

  chart.items.push_back(kept_inside({.at = {0, 11}, .text = spec.axis_name}, chart, measure));
  draw_y_grid(chart, frame, grid);
  chart.items.push_back(band_of(curve, frame));
  std::vector<Tick> ticks = spec.x_ticks;
  if (ticks.empty())
    for (double m : minute_ticks(x0, x1, std::max(2, static_cast<int>(area.w / 70))))
      ticks.push_back({m, minute_text(m)});
  draw_x_axis(chart, frame, ticks, measure);

  if (spec.span && std::isfinite(spec.span->low) && std::isfinite(spec.span->high)) {
    double a = frame.x(spec.span->low), b = frame.x(spec.span->high);
    chart.items.push_back(
        Block{{a, area.bottom() - 1, std::max(2.0, b - a), 4}, Colour{Tone::alert, {}}, {}});
  }
  if (other.size() >= 2) {
    Polyline line{{}, {{Tone::link, {}}, 1.5}};
    for (Point p : other) line.points.push_back(frame(p.x, p.y));
    chart.items.push_back(line);
  }
  chart.items.push_back(line_of(curve, frame, {{Tone::ink, {}}, 2}));

  std::optional<Label> now;
  double now_x = 0;
  if (spec.now && std::isfinite(*spec.now)) {
    now_x = frame.x(*spec.now);
    chart.items.push_back(
        Line{{now_x, area.y - 6}, {now_x, area.bottom()}, {{Tone::ink, {}}, 1.5}});
    now = kept_inside(
        {.at = {now_x + 5, area.y + 2}, .text = "now", .colour = {Tone::ink, {}}, .halo = true},
        chart, measure);
    chart.items.push_back(*now);
  }
  std::optional<Point> mark_at;
  if (spec.mark && std::isfinite(*spec.mark))
    if (auto y = at(curve, *spec.mark)) mark_at = frame(*spec.mark, *y);
  if (mark_at) chart.items.push_back(Mark{.at = *mark_at, .size = 10, .colour = {Tone::alert, {}}});

  // Where a name may not stand: what is written or marked, and the curves themselves.
  std::vector<Box> taken;
  if (mark_at) taken.push_back({mark_at->x - 7, mark_at->y - 7, 14, 14});
  if (now) taken.insert(taken.end(), {area_of(*now, measure), {now_x - 2, area.y - 6, 4, area.h}});
  const auto is_free = [&](const Label& name) {
    const Box box = area_of(name, measure);
    const Box around{box.x - 2, box.y - 1, box.w + 4, box.h + 2};
    return std::ranges::none_of(taken, [&](const Box& each) { return each.touches(around); }) &&
           !runs_through(curve, frame, around) && !runs_through(other, frame, around);
  };

  // The curve's name stands at it, where it is steep, or at the next place that is free.
  if (!spec.curve_name.empty()) {
    std::optional<Label> name;
    for (const double part : {0.30, 0.22, 0.38, 0.14, 0.46, 0.54, 0.62, 0.30}) {
      const double value = x0 + (x1 - x0) * part;
      const auto y = at(curve, value);
      if (!y) continue;
      name = kept_inside({.at = {frame.x(value) + 2, frame.y(*y) - 8},
                          .text = spec.curve_name,
                          .weight = TextWeight::medium,
                          .colour = {Tone::ink, {}}},
                         chart, measure);
      if (is_free(*name)) break;
    }
    if (name) {
      taken.push_back(area_of(*name, measure));
      chart.items.push_back(std::move(*name));
    }
  }
  if (other.size() >= 2 && !spec.other_name.empty())
    name_other(chart, spec, frame, curve, other, is_free, measure);
  return chart;
}

Chart growth(const Growth& spec, const Measure& measure) {
  Chart chart{.width = spec.width,
              .height = spec.height,
              .title = spec.title,
              .description = spec.description,
              .items = {}};
  auto points = spec.points;
  std::erase_if(points, [](const CurvePoint& p) { return !finite(p); });
  if (points.size() < 2 || !(points.back().x > points.front().x)) return chart;

  double top = 1;
  for (const auto& p : points) top = std::max({top, p.y, p.high});
  auto grid = y_ticks(0, top, spec.height < 130 ? 4 : 5);
  // Kinds come in whole numbers.
  std::erase_if(grid, [](const Tick& t) { return t.value != std::floor(t.value); });
  double gutter = std::ceil(widest(grid, measure)) + 8;
  Box area{gutter, head, std::max(1.0, spec.width - gutter - 8),
           std::max(1.0, spec.height - head - foot)};
  Frame frame{area,
              {std::min(0.0, points.front().x), points.back().x, area.x, area.right()},
              {0, top * 1.04, area.bottom(), area.y}};

  chart.items.push_back(kept_inside({.at = {0, 11}, .text = spec.y_name}, chart, measure));
  draw_y_grid(chart, frame, grid);
  chart.items.push_back(band_of(points, frame));

  std::vector<Tick> ticks;
  double name_from = spec.width - measure(spec.x_name, TextSize::fine, TextWeight::regular) - 10;
  for (double v :
       nice_ticks(frame.x.low, frame.x.high, std::max(2, static_cast<int>(area.w / 60)))) {
    std::string text = number_text(v, 1);
    double half = measure(text, TextSize::fine, TextWeight::regular) / 2;
    ticks.push_back({v, frame.x(v) + half < name_from ? text : ""});
  }
  draw_x_axis(chart, frame, ticks, measure);
  chart.items.push_back(kept_inside(
      {.at = {spec.width, area.bottom() + 17}, .text = spec.x_name, .anchor = Anchor::end}, chart,
      measure));

  std::vector<CurvePoint> met, ahead;
  for (const auto& p : points) (p.x <= spec.now ? met : ahead).push_back(p);
  std::optional<double> here = at(points, spec.now);
  if (here) {
    CurvePoint joint{spec.now, *here, *here, *here};
    if (met.empty() || met.back().x < spec.now) met.push_back(joint);
    ahead.insert(ahead.begin(), joint);
  }
  if (ahead.size() > 1)
    chart.items.push_back(line_of(ahead, frame, {{Tone::ink, {}}, 1.5, Dash::dashed}));
  if (met.size() > 1) chart.items.push_back(line_of(met, frame, {{Tone::ink, {}}, 2}));
  if (here) {
    Point dot = frame(spec.now, *here);
    chart.items.push_back(Mark{.at = dot, .size = 8});
    // Below the dot, where a growing curve leaves room.
    Label words{.at = {dot.x + 7, std::min(dot.y + 19, area.bottom() - 5)},
                .text = spec.now_words,
                .colour = {Tone::ink, {}},
                .halo = true};
    chart.items.push_back(kept_inside(words, chart, measure));
  }
  return chart;
}

}  // namespace stonecall::charts
