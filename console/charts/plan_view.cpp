#include "console/charts/plan_view.hpp"

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <map>
#include <numbers>
#include <unordered_set>

#include <boost/geometry.hpp>
#include <boost/geometry/geometries/box.hpp>
#include <boost/geometry/geometries/linestring.hpp>
#include <boost/geometry/geometries/multi_linestring.hpp>
#include <boost/geometry/geometries/point_xy.hpp>

#include "console/charts/cut_to_fit.hpp"
#include "console/charts/frame.hpp"
#include "console/charts/ticks.hpp"

namespace stonecall::charts {
namespace {

namespace bg = boost::geometry;
using BgPoint = bg::model::d2::point_xy<double>;
using BgLine = bg::model::linestring<BgPoint>;

constexpr double find_size = 9, row_pitch = 12, place_size = 8;
constexpr std::size_t most_in_row = 8, most_single = 16;

/// Farther than the earth is round is no place.
bool finite(GroundPoint p) {
  return std::abs(p.east) < 5e7 && std::abs(p.north) < 5e7;
}

Point pixel_of(const Viewport& v, double width, double height, GroundPoint g) {
  return {width / 2 + (g.east - v.centre.east) / v.metres_per_pixel,
          height / 2 - (g.north - v.centre.north) / v.metres_per_pixel};
}

/// The parts of a polyline inside a box.
std::vector<std::vector<Point>> clipped(const std::vector<Point>& points, const Box& box) {
  BgLine line;
  for (Point p : points) line.push_back({p.x, p.y});
  bg::model::multi_linestring<BgLine> parts;
  bg::intersection(bg::model::box<BgPoint>({box.x, box.y}, {box.right(), box.bottom()}), line,
                   parts);
  std::vector<std::vector<Point>> inside;
  for (const auto& part : parts) {
    auto& points_inside = inside.emplace_back();
    for (const auto& p : part) points_inside.push_back({p.x(), p.y()});
  }
  return inside;
}

/// A place's name and, below it, the finds of which only the place is known.
struct Tag {
  std::size_t place = 0;
  Point at;  ///< of the place
  std::string name;
  std::vector<std::size_t> finds;                           ///< shown one by one
  std::vector<std::pair<std::size_t, std::size_t>> counts;  ///< or: a find of that series, how many
  double w = 0, h = 0;
  int rank = 0;  ///< placed first where low
  std::optional<Box> box;
};

constexpr double count_cell = 34;

void size_tag(Tag& tag, TextWeight weight, const Measure& measure) {
  tag.w = measure(tag.name, TextSize::fine, weight);
  tag.h = 14;
  std::size_t cells = tag.counts.empty() ? tag.finds.size() : tag.counts.size();
  if (cells == 0) return;
  std::size_t in_row = std::min(cells, tag.counts.empty() ? most_in_row : std::size_t{3});
  auto rows = static_cast<double>((cells + in_row - 1) / in_row);
  tag.w =
      std::max(tag.w, static_cast<double>(in_row) * (tag.counts.empty() ? row_pitch : count_cell));
  tag.h += rows * row_pitch + 2;
}

double overlap(const Box& a, const Box& b) {
  double w = std::min(a.right(), b.right()) - std::max(a.x, b.x);
  double h = std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0;
}

/// Places around a point, the better ones first: right before left, above before below, near before
/// further.
std::vector<Box> around(Point p, double w, double h) {
  std::vector<Box> boxes;
  for (double gap : {9.0, 20.0}) {
    double near = gap * 0.55, up = near + h / 2 + 2, down = h / 2 - near - 2;
    for (Box box : {Box{p.x + gap, p.y - up, w, h},
                    {p.x + gap, p.y - down, w, h},
                    {p.x - gap - w, p.y - up, w, h},
                    {p.x - gap - w, p.y - down, w, h},
                    {p.x + near, p.y - gap - h, w, h},
                    {p.x + near, p.y + gap, w, h},
                    {p.x - w / 2, p.y - gap - h, w, h},
                    {p.x - w / 2, p.y + gap, w, h}})
      boxes.push_back(box);
  }
  return boxes;
}

class Placer {
 public:
  explicit Placer(Box frame) : frame_(frame) {}

  void keep_off(Box box, double weight) { soft_.push_back({box, weight}); }
  void keep_off_line(const std::vector<Point>& points) {
    for (std::size_t i = 1; i < points.size(); ++i) {
      double length = std::hypot(points[i].x - points[i - 1].x, points[i].y - points[i - 1].y);
      int steps = std::clamp(static_cast<int>(length / 6), 1, 400);
      for (int k = 0; k <= steps; ++k) {
        double t = static_cast<double>(k) / steps;
        on_lines_.push_back({points[i - 1].x + t * (points[i].x - points[i - 1].x),
                             points[i - 1].y + t * (points[i].y - points[i - 1].y)});
      }
    }
  }

  /// The best of the places around the points; none where each would cover another name or leave
  /// the frame.
  std::optional<Box> place(std::initializer_list<Point> points, double w, double h) {
    std::optional<Box> best;
    double least = 1e18;
    int order = 0;
    std::vector<Box> boxes;
    for (Point at : points) {
      auto more = around(at, w, h);
      boxes.insert(boxes.end(), more.begin(), more.end());
    }
    for (const Box& box : boxes) {
      double cost = order++ * 2.0;
      if (box.x < frame_.x || box.y < frame_.y || box.right() > frame_.right() ||
          box.bottom() > frame_.bottom())
        continue;
      Box roomy{box.x - 3, box.y - 1, box.w + 6, box.h + 2};
      if (std::any_of(taken_.begin(), taken_.end(), [&](const Box& t) { return t.touches(roomy); }))
        continue;
      for (const auto& [other, weight] : soft_) cost += weight * overlap(box, other);
      for (Point p : on_lines_)
        if (box.contains(p)) cost += 12;
      if (cost < least) {
        least = cost;
        best = box;
      }
    }
    if (best) taken_.push_back(*best);
    return best;
  }

  void take(Box box) { taken_.push_back(box); }

 private:
  Box frame_;
  std::vector<Box> taken_;
  std::vector<std::pair<Box, double>> soft_;
  std::vector<Point> on_lines_;
};

void draw_compass(Chart& chart, const std::optional<double>& sun_azimuth, double width) {
  constexpr double r = 15;
  Point c{width - r - 12, r + 24};
  Stroke soft{{Tone::soft, {}}, 1};
  chart.items.push_back(Line{{c.x, c.y + r}, {c.x, c.y - r}, {{Tone::ink, {}}, 1}});
  chart.items.push_back(Polyline{{{c.x - 4, c.y - r + 6}, {c.x, c.y - r}, {c.x + 4, c.y - r + 6}},
                                 {{Tone::ink, {}}, 1}});
  chart.items.push_back(Label{.at = {c.x, c.y - r - 5},
                              .text = "N",
                              .weight = TextWeight::medium,
                              .colour = {Tone::ink, {}},
                              .anchor = Anchor::middle});
  if (!sun_azimuth || !std::isfinite(*sun_azimuth)) return;
  double a = *sun_azimuth * std::numbers::pi / 180;
  Point towards{std::sin(a), -std::cos(a)};
  auto at = [&](double part) {
    return Point{c.x + towards.x * r * part, c.y + towards.y * r * part};
  };
  // A line from the sun through the middle, and on as the shadow.
  chart.items.push_back(Line{at(0), at(0.66), soft});
  chart.items.push_back(Line{at(0), at(-0.9), {{Tone::soft, {}}, 2.5}});
  for (int ray = 0; ray < 8; ++ray) {
    double b = ray * std::numbers::pi / 4;
    Point s = at(1.0);
    chart.items.push_back(Line{{s.x + 5.5 * std::cos(b), s.y + 5.5 * std::sin(b)},
                               {s.x + 7.5 * std::cos(b), s.y + 7.5 * std::sin(b)},
                               soft});
  }
  chart.items.push_back(Mark{.at = at(1.0), .size = 7, .colour = {Tone::soft, {}}, .hollow = true});
}

}  // namespace

double scale_bar_metres(double metres_per_pixel, double most_pixels) {
  double most = metres_per_pixel * most_pixels;
  if (!(most > 0) || !std::isfinite(most)) return 1;
  double nice = nice_ceiling(most);
  if (nice <= most * (1 + 1e-12)) return nice;
  // One step down: 10 -> 5 -> 2 -> 1.
  double power = std::pow(10, std::floor(std::log10(nice) + 1e-9));
  double digit = std::round(nice / power);
  return digit == 5 ? 2 * power : digit == 2 ? power : 0.5 * power;
}

std::string metres_text(double metres) {
  if (metres >= 1000)
    return number_text(metres / 1000, std::fmod(metres, 1000) == 0 ? 1 : 0.1) + " km";
  return number_text(metres, metres < 1 ? 0.1 : 1) + " m";
}

GroundPoint ground_at(const Viewport& v, double width, double height, Point p) {
  return {v.centre.east + (p.x - width / 2) * v.metres_per_pixel,
          v.centre.north - (p.y - height / 2) * v.metres_per_pixel};
}

Viewport zoomed(const Viewport& v, double width, double height, Point pixel, double factor) {
  if (!(factor > 0) || !std::isfinite(factor)) return v;
  GroundPoint under = ground_at(v, width, height, pixel);
  Viewport to = v;
  to.metres_per_pixel = std::clamp(v.metres_per_pixel / factor, 0.05, 200.0);
  to.centre = {under.east - (pixel.x - width / 2) * to.metres_per_pixel,
               under.north + (pixel.y - height / 2) * to.metres_per_pixel};
  return to;
}

Viewport fitted(const PlanView& view, double width, double height) {
  double west = 1e18, east = -1e18, south = 1e18, north = -1e18;
  auto include = [&](GroundPoint p) {
    if (!finite(p)) return;
    west = std::min(west, p.east), east = std::max(east, p.east);
    south = std::min(south, p.north), north = std::max(north, p.north);
  };
  for (const auto& p : view.places) include(p.at);
  for (const auto& w : view.ways)
    for (GroundPoint p : w.points) include(p);
  for (const auto& f : view.finds)
    if (f.at) include(*f.at);
  Viewport v;
  if (west > east) return v;
  v.centre = {(west + east) / 2, (south + north) / 2};
  if (east - west < 1 && north - south < 1) {
    v.metres_per_pixel = 400 / std::max(1.0, std::min(width, height));
    return v;
  }
  // Names need room at the sides, the scale bar below.
  double room_x = std::max(40.0, width - 170), room_y = std::max(40.0, height - 56);
  v.metres_per_pixel =
      std::clamp(std::max((east - west) / room_x, (north - south) / room_y), 0.05, 200.0);
  return v;
}

PlanChart plan_view(const PlanView& view, double width, double height, const Viewport& viewport,
                    const Measure& measure) {
  PlanChart plan;
  Chart& chart = plan.chart;
  chart = {.width = width,
           .height = height,
           .title = view.title,
           .description = view.description,
           .items = {}};
  if (!(viewport.metres_per_pixel > 0) || !finite(viewport.centre) || !(width > 1) || !(height > 1))
    return plan;
  Box frame{0, 0, width, height};
  auto pixel = [&](GroundPoint g) { return pixel_of(viewport, width, height, g); };
  Placer placer(frame);

  // A net of the scale bar's own length, through the origin, so that distances can be told
  // anywhere.
  double bar = scale_bar_metres(viewport.metres_per_pixel, std::clamp(width / 4, 50.0, 120.0));
  GroundPoint nw = ground_at(viewport, width, height, {0, 0}),
              se = ground_at(viewport, width, height, {width, height});
  for (double e = std::ceil(nw.east / bar) * bar; e <= se.east; e += bar) {
    double x = pixel({e, 0}).x;
    chart.items.push_back(Line{{x, 0}, {x, height}, {{Tone::grid, {}}, 1}});
  }
  for (double n = std::ceil(se.north / bar) * bar; n <= nw.north; n += bar) {
    double y = pixel({0, n}).y;
    chart.items.push_back(Line{{0, y}, {width, y}, {{Tone::grid, {}}, 1}});
  }

  struct WayWords {
    Point from, to;  ///< the longest straight piece that is seen
    std::string words;
    Point along(double part) const {
      return {from.x + part * (to.x - from.x), from.y + part * (to.y - from.y)};
    }
  };
  std::vector<WayWords> way_words;
  for (auto kind :
       {PlanView::Way::Kind::planned, PlanView::Way::Kind::walked, PlanView::Way::Kind::back}) {
    for (const auto& way : view.ways) {
      if (way.kind != kind) continue;
      std::vector<Point> points;
      for (GroundPoint g : way.points)
        if (finite(g)) points.push_back(pixel(g));
      if (points.size() < 2) continue;
      Stroke stroke =
          kind == PlanView::Way::Kind::planned  ? Stroke{{Tone::soft, {}}, 1, Dash::dotted}
          : kind == PlanView::Way::Kind::walked ? Stroke{{Tone::ink, {}}, 2}
                                                : Stroke{{Tone::alert, {}}, 1.5, Dash::dashed};
      double longest = 0;
      WayWords words{{}, {}, way.words};
      for (auto& part : clipped(points, frame)) {
        placer.keep_off_line(part);
        for (std::size_t i = 1; i < part.size(); ++i) {
          double length = std::hypot(part[i].x - part[i - 1].x, part[i].y - part[i - 1].y);
          if (length <= longest) continue;
          longest = length;
          words.from = part[i - 1];
          words.to = part[i];
        }
        chart.items.push_back(Polyline{std::move(part), stroke});
      }
      if (longest > 8 && !words.words.empty()) way_words.push_back(words);
    }
  }

  // The scale bar and the compass have their corners.
  double bar_px = bar / viewport.metres_per_pixel;
  Box bar_box{width - bar_px - 14, height - 30, bar_px + 14, 30};
  placer.take(bar_box);
  placer.take({width - 52, 0, 52, 56});

  // Finds with a place of their own: later ones on top, one a cell, so that ten thousand stay
  // cheap.
  std::unordered_set<std::uint64_t> cells;
  std::vector<std::pair<Mark, std::size_t>> marks;
  for (std::size_t i = view.finds.size(); i-- > 0;) {
    const auto& find = view.finds[i];
    if (!find.at || !finite(*find.at)) continue;
    Point p = pixel(*find.at);
    if (p.x < find_size || p.y < find_size || p.x > width - find_size || p.y > height - find_size)
      continue;
    plan.spots.push_back({PlanSpot::Kind::find, i, p});
    auto cell = static_cast<std::uint64_t>(p.x / (find_size / 2)) << 40 |
                static_cast<std::uint64_t>(p.y / (find_size / 2)) << 16 |
                (find.series.value_or(0xFFFF) & 0xFFFF);
    if (!cells.insert(cell).second && !find.chosen) continue;
    marks.push_back({Mark{.at = p,
                          .size = find_size,
                          .colour = {Tone::soft, {}},
                          .hollow = !find.series,
                          .series = find.series},
                     i});
    placer.keep_off({p.x - find_size / 2, p.y - find_size / 2, find_size, find_size}, 3);
  }
  for (auto m = marks.rbegin(); m != marks.rend(); ++m) chart.items.push_back(m->first);

  std::vector<Tag> tags;
  for (std::size_t i = 0; i < view.places.size(); ++i) {
    const auto& place = view.places[i];
    if (!finite(place.at)) continue;
    Point p = pixel(place.at);
    if (!frame.contains(p)) continue;
    Tag tag{.place = i, .at = p, .name = place.name, .finds = {}, .counts = {}, .box = {}};
    tag.rank = place.here || place.chosen                     ? 0
               : place.kind == PlanView::Place::Kind::base    ? 1
               : place.kind == PlanView::Place::Kind::visited ? 2
                                                              : 3;
    for (std::size_t f = 0; f < view.finds.size(); ++f)
      if (!view.finds[f].at && view.finds[f].place == i) tag.finds.push_back(f);
    if (tag.finds.size() > most_single) {
      std::map<std::size_t, std::pair<std::size_t, std::size_t>> by_series;
      for (std::size_t f : tag.finds) {
        auto& [first, number] =
            by_series[view.finds[f].series.value_or(static_cast<std::size_t>(-1))];
        if (number++ == 0) first = f;
      }
      for (const auto& [series, each] : by_series) tag.counts.push_back(each);
    }
    size_tag(tag, place.here ? TextWeight::semibold : TextWeight::regular, measure);
    tags.push_back(std::move(tag));
    placer.keep_off({p.x - 6, p.y - 6, 12, 12}, 2);
  }
  std::stable_sort(tags.begin(), tags.end(),
                   [](const Tag& a, const Tag& b) { return a.rank < b.rank; });

  // A name that has no room is shortened rather than left out; pointing at the place tells it
  // whole.
  for (Tag& tag : tags) {
    const TextWeight weight =
        view.places[tag.place].here ? TextWeight::semibold : TextWeight::regular;
    const std::string whole = tag.name;
    tag.box = placer.place({tag.at}, tag.w, tag.h);
    for (const double room : {120.0, 80.0, 48.0}) {
      if (tag.box || measure(whole, TextSize::fine, weight) <= room) continue;
      tag.name = cut_to_fit(whole, room, measure);
      size_tag(tag, weight, measure);
      tag.box = placer.place({tag.at}, tag.w, tag.h);
    }
  }
  for (const Tag& tag : tags) {
    const auto& place = view.places[tag.place];
    bool ahead = place.kind == PlanView::Place::Kind::ahead;
    bool base = place.kind == PlanView::Place::Kind::base;
    Colour colour{ahead ? Tone::soft : Tone::ink, {}};
    if (place.chosen)
      chart.items.push_back(
          Mark{.at = tag.at, .size = place_size + 9, .colour = {Tone::ink, {}}, .hollow = true});
    chart.items.push_back(Mark{.at = tag.at,
                               .size = base ? place_size + 1 : place_size,
                               .shape = base ? MarkShape::square : MarkShape::circle,
                               .colour = colour,
                               .hollow = !place.here});
    plan.spots.push_back({PlanSpot::Kind::place, tag.place, tag.at});
    if (!tag.box) continue;
    chart.items.push_back(Label{.at = {tag.box->x, tag.box->y + 11},
                                .text = tag.name,
                                .weight = place.here ? TextWeight::semibold : TextWeight::regular,
                                .colour = colour,
                                .halo = true});
    bool counted = !tag.counts.empty();
    std::size_t cells_here = counted ? tag.counts.size() : tag.finds.size(),
                in_row = counted ? 3 : most_in_row;
    for (std::size_t k = 0; k < cells_here; ++k) {
      std::size_t f = counted ? tag.counts[k].first : tag.finds[k];
      Point p{tag.box->x + 5 + static_cast<double>(k % in_row) * (counted ? count_cell : row_pitch),
              tag.box->y + 22 + static_cast<double>(k / in_row) * row_pitch};
      chart.items.push_back(Mark{.at = p,
                                 .size = find_size - 1,
                                 .colour = {Tone::soft, {}},
                                 .hollow = !view.finds[f].series,
                                 .series = view.finds[f].series});
      if (counted)
        chart.items.push_back(Label{.at = {p.x + 7, p.y + 4},
                                    .text = std::to_string(tag.counts[k].second),
                                    .colour = {Tone::soft, {}}});
      plan.spots.push_back({PlanSpot::Kind::find, f, p});
    }
  }
  for (const PlanSpot& spot : plan.spots)
    if (spot.kind == PlanSpot::Kind::find && view.finds[spot.index].chosen) {
      chart.items.push_back(
          Block{{spot.at.x - 8, spot.at.y - 8, 16, 16}, {}, Stroke{{Tone::ink, {}}, 1.5}});
    }

  for (const auto& words : way_words) {
    double w = measure(words.words, TextSize::fine, TextWeight::regular);
    if (auto box = placer.place({words.along(0.5), words.along(0.3), words.along(0.7)}, w, 13))
      chart.items.push_back(Label{.at = {box->x, box->y + 10},
                                  .text = words.words,
                                  .colour = {Tone::alert, {}},
                                  .halo = true});
  }

  double bar_y = height - 6, bar_x = width - 10 - bar_px;
  Stroke ink{{Tone::ink, {}}, 1.5};
  chart.items.push_back(Line{{bar_x, bar_y}, {bar_x + bar_px, bar_y}, ink});
  chart.items.push_back(Line{{bar_x, bar_y - 5}, {bar_x, bar_y}, ink});
  chart.items.push_back(Line{{bar_x + bar_px, bar_y - 5}, {bar_x + bar_px, bar_y}, ink});
  chart.items.push_back(Label{.at = {bar_x + bar_px / 2, bar_y - 7},
                              .text = metres_text(bar),
                              .colour = {Tone::ink, {}},
                              .anchor = Anchor::middle,
                              .halo = true});
  draw_compass(chart, view.sun_azimuth, width);
  return plan;
}

std::optional<PlanSpot> spot_at(const PlanChart& plan, Point at, double reach) {
  std::optional<PlanSpot> nearest;
  double least = reach;
  for (const PlanSpot& spot : plan.spots) {
    double d = std::hypot(spot.at.x - at.x, spot.at.y - at.y);
    bool nearer =
        d < least || (d == least && (!nearest || (nearest->kind == PlanSpot::Kind::place &&
                                                  spot.kind == PlanSpot::Kind::find)));
    if (!nearer) continue;
    least = d;
    nearest = spot;
  }
  return nearest;
}

}  // namespace stonecall::charts
