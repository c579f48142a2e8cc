#include "console/desk/chart_painter.hpp"

#include <algorithm>
#include <cmath>

#include "console/charts/decimate.hpp"
#include "console/charts/mark.hpp"

namespace stonecall::desk {
namespace {

using charts::Tone;

constexpr std::size_t most_points = 4000;  // a draw call counts vertices in 16 bits

Ink ink_of(Tone tone) {
  switch (tone) {
    case Tone::ground:
      return Ink::ground;
    case Tone::panel:
      return Ink::panel;
    case Tone::ink:
      return Ink::ink;
    case Tone::soft:
      return Ink::soft;
    case Tone::hairline:
      return Ink::hairline;
    case Tone::grid:
      return Ink::grid;
    case Tone::edge:
      return Ink::edge;
    case Tone::band:
      return Ink::band;
    case Tone::done:
      return Ink::walked;
    case Tone::alert:
      return Ink::rust;
    case Tone::alert_soft:
      return Ink::rust_soft;
    case Tone::link:
      return Ink::link;
    case Tone::count_:
      break;
  }
  return Ink::ink;
}

Font font_of(charts::TextSize size, charts::TextWeight weight) {
  return {size == charts::TextSize::fine ? Type::fine : Type::text,
          weight == charts::TextWeight::regular  ? Weight::regular
          : weight == charts::TextWeight::medium ? Weight::medium
                                                 : Weight::semibold};
}

bool finite(ImVec2 p) {
  return std::abs(p.x) < 1e6F && std::abs(p.y) < 1e6F;
}  // false for NaN

class Painter {
 public:
  Painter(Canvas& canvas, ImVec2 origin)
      : canvas_(canvas), origin_(origin), scale_(canvas.fonts().scale()) {}

  void operator()(const charts::Line& line) {
    ImVec2 a = at(line.from), b = at(line.to);
    if (!finite(a) || !finite(b)) return;
    float width = thickness(line.stroke.width);
    if (line.stroke.dash == charts::Dash::solid &&
        (line.from.x == line.to.x || line.from.y == line.to.y)) {
      // Upright and level rules are filled on whole pixels, so that they are crisp.
      float w = std::max(1.0F, std::round(width));
      auto first = [&](float v) { return std::round(v - (w - 1) / 2); };
      ImU32 colour = stroke_colour(line.stroke.colour);
      if (line.from.x == line.to.x)
        draw().AddRectFilled({first(a.x), std::round(std::min(a.y, b.y))},
                             {first(a.x) + w, std::round(std::max(a.y, b.y))}, colour);
      else
        draw().AddRectFilled({std::round(std::min(a.x, b.x)), first(a.y)},
                             {std::round(std::max(a.x, b.x)), first(a.y) + w}, colour);
      return;
    }
    stroke({a, b}, line.stroke);
  }

  void operator()(const charts::Polyline& line) {
    std::vector<ImVec2> points;
    for (charts::Point p : charts::decimated(line.points))
      if (ImVec2 v = at(p); finite(v)) points.push_back(v);
    stroke(points, line.stroke);
  }

  void operator()(const charts::Band& band) {
    // Slices meet without the seam that smoothed edges would leave.
    ImDrawListFlags before = draw().Flags;
    draw().Flags &= ~ImDrawListFlags_AntiAliasedFill;
    ImU32 colour = stroke_colour(band.fill);
    for (std::size_t i = 1; i < band.slices.size(); ++i) {
      const auto &l = band.slices[i - 1], &r = band.slices[i];
      ImVec2 a = at({l.x, l.top}), b = at({r.x, r.top}), c = at({r.x, r.bottom}),
             d = at({l.x, l.bottom});
      if (finite(a) && finite(b) && finite(c) && finite(d))
        draw().AddQuadFilled(a, b, c, d, colour);
    }
    draw().Flags = before;
  }

  void operator()(const charts::Block& block) {
    ImVec2 a = at({block.box.x, block.box.y}), b = at({block.box.right(), block.box.bottom()});
    if (!finite(a) || !finite(b)) return;
    a = {std::round(a.x), std::round(a.y)};
    b = {std::round(b.x), std::round(b.y)};
    if (block.fill) draw().AddRectFilled(a, b, stroke_colour(*block.fill));
    if (block.edge)
      draw().AddRect(a, b, stroke_colour(block.edge->colour), 0, 0, thickness(block.edge->width));
  }

  void operator()(const charts::Mark& mark) {
    ImVec2 c = at(mark.at);
    if (!finite(c) || !(mark.size > 0 && mark.size < 1000)) return;
    auto shape = mark.series ? charts::series_shape(*mark.series) : mark.shape;
    auto series = mark.series ? mark.series : mark.colour.series;
    KindInk look;
    if (series) {
      look = kind_ink(canvas_.theme(), *series);
    } else {
      Rgb colour = canvas_.theme()[ink_of(mark.colour.tone)];
      look = {.shape = Shape::circle, .fill = colour, .line = colour, .outline = colour};
    }
    look.shape = shape;
    if (mark.hollow) look.fill = canvas_.theme()[Ink::ground];
    auto size = static_cast<float>(mark.size) * scale_;
    canvas_.glyph(c, size, look);
    if (mark.hollow && look.shape == Shape::circle)  // a ring reads better than a hair
      draw().AddCircle(c, size / 2, canvas_.colour(look.outline), 24, 1.6F * scale_);
  }

  void operator()(const charts::Label& label) {
    ImVec2 p = at(label.at);
    if (!finite(p)) return;
    p = {std::round(p.x), std::round(p.y)};
    Font font = font_of(label.size, label.weight);
    Align align = label.anchor == charts::Anchor::start ? Align::left
                  : label.anchor == charts::Anchor::end ? Align::right
                                                        : Align::centre;
    if (label.halo) {
      float d = std::max(1.0F, std::round(scale_));
      for (ImVec2 o : {ImVec2{-d, 0}, {d, 0}, {0, -d}, {0, d}, {-d, -d}, {d, -d}, {-d, d}, {d, d}})
        canvas_.text({p.x + o.x, p.y + o.y}, font, Ink::ground, label.text, align);
    }
    canvas_.text(p, font, ink_of(label.colour.tone), label.text, align);
  }

 private:
  ImDrawList& draw() { return canvas_.draw(); }
  ImVec2 at(charts::Point p) const {
    return {origin_.x + static_cast<float>(p.x) * scale_,
            origin_.y + static_cast<float>(p.y) * scale_};
  }
  float thickness(double width) const { return std::max(1.0F, static_cast<float>(width) * scale_); }
  ImU32 stroke_colour(charts::Colour colour) const {
    return colour.series ? canvas_.colour(kind_ink(canvas_.theme(), *colour.series).line)
                         : canvas_.colour(ink_of(colour.tone));
  }

  void stroke(const std::vector<ImVec2>& points, const charts::Stroke& stroke) {
    if (points.size() < 2) return;
    ImU32 colour = stroke_colour(stroke.colour);
    float width = thickness(stroke.width);
    if (stroke.dash != charts::Dash::solid) {
      float on = (stroke.dash == charts::Dash::dashed ? 5.0F : 1.5F) * scale_, off = 3 * scale_;
      dashes(points, colour, width, on, off);
      return;
    }
    for (std::size_t begin = 0; begin + 1 < points.size(); begin += most_points - 1) {
      std::size_t end = std::min(points.size(), begin + most_points);
      draw().AddPolyline(points.data() + begin, static_cast<int>(end - begin), colour, 0, width);
    }
  }

  void dashes(const std::vector<ImVec2>& points, ImU32 colour, float width, float on, float off) {
    float left = on;  // of the dash or gap being walked
    bool dash = true;
    for (std::size_t i = 1; i < points.size(); ++i) {
      ImVec2 a = points[i - 1], b = points[i];
      float length = std::hypot(b.x - a.x, b.y - a.y);
      if (length <= 0) continue;
      for (float walked = 0; walked < length;) {
        float step = std::min(left, length - walked);
        auto on_way = [&](float d) {
          return ImVec2{a.x + (b.x - a.x) * d / length, a.y + (b.y - a.y) * d / length};
        };
        if (dash) draw().AddLine(on_way(walked), on_way(walked + step), colour, width);
        walked += step;
        left -= step;
        if (left > 1e-3F) break;
        dash = !dash;
        left = dash ? on : off;
      }
    }
  }

  Canvas& canvas_;
  ImVec2 origin_;
  float scale_;
};

}  // namespace

charts::Measure measure_of(const Fonts& fonts) {
  return [&fonts](std::string_view text, charts::TextSize size, charts::TextWeight weight) {
    return static_cast<double>(fonts.width(font_of(size, weight), text) / fonts.scale());
  };
}

void paint(Canvas& canvas, const charts::Chart& chart, ImVec2 at) {
  float scale = canvas.fonts().scale();
  Painter painter(canvas, {std::round(at.x), std::round(at.y)});
  canvas.draw().PushClipRect({at.x - 1, at.y - 1},
                             {at.x + static_cast<float>(chart.width) * scale + 1,
                              at.y + static_cast<float>(chart.height) * scale + 1},
                             true);
  for (const charts::Item& item : chart.items) std::visit(painter, item);
  canvas.draw().PopClipRect();
}

}  // namespace stonecall::desk
