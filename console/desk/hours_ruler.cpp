#include "console/desk/hours_ruler.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "console/debrief/look_back.hpp"
#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::Instant;
using protocol::Milliseconds;

constexpr Font ruler_font{Type::fine};

/// The ruler as it lies on the canvas. Heights from above, in screen pixels.
struct Face {
  Face(const View& v, Canvas& c, float upper_edge)
      : view(v),
        canvas(c),
        ruler(ruler_for(v, c.area().x, c.area().right())),
        top(upper_edge),
        box_high(c.px(21)),
        line(top + box_high),
        walked(line + c.px(21)),
        walked_high(c.px(8)),
        below(walked + walked_high + c.px(3)),
        end(below + c.px(16)),
        now_x(std::round(std::clamp(ruler.x(v.now), c.area().x, c.area().right()))) {}

  float x(Instant at) const { return std::round(ruler.x(at)); }
  const ClockText& clock() const { return canvas.clock(); }
  float left() const { return canvas.area().x; }
  float right() const { return canvas.area().right(); }

  const View& view;
  Canvas& canvas;
  const Ruler ruler;
  const float top, box_high;        ///< of the planned stays
  const float line;                 ///< with its ticks
  const float walked, walked_high;  ///< of the stays as they were
  const float below;                ///< samples
  const float end;                  ///< baseline of the marks' words
  const float now_x;
};

void draw_planned_stay(const Face& face, Instant from, const protocol::PlannedStation& station) {
  Canvas& canvas = face.canvas;
  const bool chosen = canvas.chosen().station == station.station;
  const float x0 = face.x(from);
  const float x1 = face.x(from + protocol::from_minutes(station.allotted_minutes));
  const Rect box{x0, face.top, std::max(canvas.px(3), x1 - x0), face.box_high};
  canvas.fill(box, chosen ? Ink::chosen : Ink::panel);
  canvas.outline(box, Ink::edge);
  const float room = box.w - canvas.px(10);
  if (room > canvas.px(14))
    canvas.text({box.x + canvas.px(6), canvas.baseline_in(box.y, box.h, ruler_font.type)},
                ruler_font, chosen ? Ink::ink : Ink::soft,
                ellipsis(canvas.fonts(), ruler_font, station.station, room));
  canvas.tip(box, fmt::format("{}: planned {} for {:.0f} min", station.station,
                              face.clock().minutes(from), station.allotted_minutes));
}

void draw_planned(const Face& face, RulerState& state) {
  const protocol::Plan* plan = face.view.plan();
  if (!plan) return;
  if (state.planned_in != face.view.picture) {
    state.planned_in = face.view.picture;
    state.planned = debrief::planned_arrivals(*plan);
  }
  for (std::size_t i = 0; i < plan->stations.size(); ++i)
    draw_planned_stay(face, plan->start.instant + state.planned[i], plan->stations[i]);
}

/// Minutes between the ticks, and between those with their time.
struct Ticks {
  std::int64_t minor = 1, major = 10;
};

Ticks ticks_for(double pixels_a_minute, double least_pixels) {
  constexpr std::array<std::int64_t, 11> steps{10,  15,   30,    60,    120,   240,
                                               720, 1440, 10080, 43200, 525600};
  const auto enough = std::ranges::find_if(steps, [&](std::int64_t step) {
    return static_cast<double>(step) * pixels_a_minute >= least_pixels;
  });
  const std::int64_t major = enough == steps.end() ? steps.back() : *enough;
  const std::int64_t minor = major >= 1440  ? major
                             : major >= 240 ? 60
                             : major >= 60  ? 15
                             : major >= 15  ? 5
                                            : 1;
  return {minor, major};
}

void draw_tick(const Face& face, Instant at, bool with_time) {
  Canvas& canvas = face.canvas;
  const float x = face.x(at);
  canvas.upright(std::min(x, face.right() - 1), face.line, face.line + canvas.px(with_time ? 8 : 4),
                 Ink::ink);
  if (!with_time) return;
  const std::string words = face.clock().minutes(at);
  const float width = canvas.fonts().figures_width(ruler_font, words), gap = canvas.px(4);
  const float label_x = x + gap + width > face.right() ? x - gap - width : x + gap;
  canvas.figures({label_x, face.line + canvas.px(15)}, ruler_font, Ink::soft, words);
}

/// The line and its ticks, whole in the zone that is shown.
void draw_axis(const Face& face) {
  face.canvas.rule(face.left(), face.right(), face.line, Ink::ink);
  const ClockText& clock = face.clock();
  const Milliseconds zero = clock.mode == TimeMode::elapsed ? clock.start.instant.time_since_epoch()
                            : clock.mode == TimeMode::local ? Milliseconds(-clock.start.offset)
                                                            : Milliseconds(0);
  const Ruler& ruler = face.ruler;
  const double pixels_a_minute = static_cast<double>(ruler.x1 - ruler.x0) /
                                 std::max(1.0, protocol::in_minutes(ruler.end - ruler.begin));
  const auto [minor, major] = ticks_for(pixels_a_minute, static_cast<double>(face.canvas.px(140)));
  std::int64_t minute = (ruler.begin.time_since_epoch() - zero).count() / 60000 / minor * minor;
  for (;; minute += minor) {
    const Instant at{zero + Milliseconds(minute * 60000)};
    if (at > ruler.end) break;
    if (at >= ruler.begin) draw_tick(face, at, minute % major == 0);
  }
}

void draw_visit(const Face& face, const picture::Visit& visit) {
  Canvas& canvas = face.canvas;
  const Instant until = visit.left.value_or(face.view.now);
  // A stay may have begun before the ruler does.
  const float x0 = std::round(std::max(face.left(), face.ruler.x(visit.arrived)));
  const float x1 = face.x(std::min(face.view.now, until));
  if (x1 <= face.left()) return;
  const Rect bar{x0, face.walked, std::max(canvas.px(2), x1 - x0), face.walked_high};
  canvas.fill(bar, canvas.chosen().station == visit.station ? Ink::ink : Ink::walked);
  canvas.tip({bar.x, bar.y - canvas.px(2), bar.w, bar.h + canvas.px(4)},
             fmt::format("{}: {} to {}, {}", visit.station, face.clock().minutes(visit.arrived),
                         visit.left ? face.clock().minutes(*visit.left) : "now",
                         minutes_text(protocol::in_minutes(until - visit.arrived))));
}

void draw_outage(const Face& face, const picture::Outage& outage) {
  Canvas& canvas = face.canvas;
  const float x0 = face.x(outage.from), middle = face.walked + std::round(face.walked_high / 2);
  const float x1 = std::round(std::max(face.ruler.x(outage.until), x0 + canvas.px(3)));
  const Rect gap{x0, face.walked - 1, x1 - x0, face.walked_high + 2};
  canvas.fill(gap, Ink::ground);
  for (float x = x0 + canvas.px(2); x < x1 - 1; x += canvas.px(4))
    canvas.draw().AddRectFilled({x, middle}, {x + canvas.px(1), middle + canvas.px(1)},
                                canvas.colour(Ink::ink));
  canvas.tip(gap,
             fmt::format("Link outage: words of {} to {} came late",
                         face.clock().minutes(outage.from), face.clock().minutes(outage.until)));
}

/// As walked, below the line: stays, outages of the link, samples.
void draw_walked(const Face& face, RulerState& state) {
  if (!face.view.picture) return;
  Canvas& canvas = face.canvas;
  const picture::Picture& picture = *face.view.picture;
  if (!picture.visits.empty())
    canvas.rule(std::max(face.left(), face.ruler.x(picture.visits.front().arrived)), face.now_x,
                face.walked + std::round(face.walked_high / 2), Ink::walked);
  for (const picture::Visit& visit : picture.visits) draw_visit(face, visit);
  if (state.picture != face.view.picture) {
    state.picture = face.view.picture;
    state.outages = picture::outages(picture);
  }
  for (const picture::Outage& outage : state.outages) draw_outage(face, outage);
  for (const picture::Sample& sample : picture.samples)
    if (sample.taken)
      canvas.upright(face.x(sample.first), face.below, face.below + canvas.px(5),
                     canvas.chosen().rock == sample.rock ? Ink::rust : Ink::soft);
}

/// Text under the ruler that gives way: each mark's words go right of it, or left, or away.
class MarkWords {
 public:
  explicit MarkWords(const Face& face) : face_(face) {
    Canvas& canvas = face.canvas;
    take(face.now_x - canvas.px(2), face.now_x + canvas.px(2));
    if (!face.view.picture) return;
    for (const picture::CallMade& call : face.view.picture->calls) {
      const float pole = face.x(call.origin.at);
      take(pole, pole + canvas.px(9));
    }
  }
  void add(float x, Ink ink, const std::string& words) {
    Canvas& canvas = face_.canvas;
    const float w = canvas.fonts().width(ruler_font, words), gap = canvas.px(8);
    for (const float from : {x + gap, x - gap - w}) {
      if (from < face_.left() || from + w > face_.right()) continue;
      const bool free = std::ranges::none_of(
          taken_, [&](const auto& t) { return from < t.second + gap && t.first < from + w + gap; });
      if (!free) continue;
      canvas.text({from, face_.end}, ruler_font, ink, words);
      take(from, from + w);
      return;
    }
  }
  void take(float from, float to) { taken_.emplace_back(from, to); }

 private:
  const Face& face_;
  std::vector<std::pair<float, float>> taken_;
};

/// Where the marks ahead are drawn, between their words.
float mark_y(const Face& face) {
  return face.end - face.canvas.px(4);
}

/// A triangle with its words.
void draw_mark_ahead(const Face& face, MarkWords& words, float x, Ink ink, bool solid,
                     const std::string& text) {
  Canvas& canvas = face.canvas;
  const float r = canvas.px(5), y = mark_y(face);
  const ImVec2 a{x, y - r}, b{x + r, y + r * 0.8F}, c{x - r, y + r * 0.8F};
  if (solid)
    canvas.draw().AddTriangleFilled(a, b, c, canvas.colour(ink));
  else
    canvas.draw().AddTriangle(a, b, c, canvas.colour(ink),
                              std::max(1.0F, canvas.fonts().scale() * 1.3F));
  words.add(x, ink, text);
  words.take(x - canvas.px(6), x + canvas.px(6));
}

void draw_advised(const Face& face, Instant start, const advise::Advice& advice, MarkWords& words) {
  if (!advice.depart) return;
  Canvas& canvas = face.canvas;
  const ClockText& clock = face.clock();
  const bool current = !outdated(face.view);
  std::string text =
      (current ? "advised " : "was advised ") + clock.minutes(start + *advice.depart);
  if (advice.depart_earliest && advice.depart_latest) {
    const Instant earliest = start + *advice.depart_earliest,
                  latest = start + *advice.depart_latest;
    const float x0 = face.ruler.x(earliest), x1 = face.ruler.x(latest);
    if (current)
      canvas.fill({x0, face.walked, std::max(canvas.px(2), x1 - x0), face.walked_high},
                  Ink::rust_soft);
    text += fmt::format(" ({}–{})", clock.minutes(earliest), clock.minutes(latest));
  }
  draw_mark_ahead(face, words, face.x(start + *advice.depart), current ? Ink::rust : Ink::soft,
                  current, text);
}

void draw_turn_back(const Face& face, Instant start, const advise::TurnBack& back,
                    MarkWords& words) {
  Canvas& canvas = face.canvas;
  const Instant departure = start + back.latest_departure, call = start + back.latest_useful_call;
  const float useful = face.x(call);
  words.take(useful - canvas.px(1), useful + canvas.px(1));
  draw_mark_ahead(face, words, face.x(departure), Ink::ink, false,
                  "latest departure " + face.clock().minutes(departure));
  // To the left of its line, clear of it.
  words.add(useful - canvas.px(2), Ink::soft, "last useful call " + face.clock().minutes(call));
  canvas.upright(useful, face.walked - canvas.px(2), mark_y(face) + canvas.px(4), Ink::soft);
  canvas.tip({useful - canvas.px(4), face.walked, canvas.px(8), face.end - face.walked},
             "Latest call that is still useful: " + face.clock().minutes(call));
}

/// What is advised, and the latest.
void draw_ahead(const Face& face) {
  const protocol::Plan* plan = face.view.plan();
  if (!face.view.assessment || !plan) return;
  MarkWords words(face);
  if (const advise::Advice* advice = face.view.advice())
    draw_advised(face, plan->start.instant, *advice, words);
  if (const auto& back = face.view.assessment->turn_back)
    draw_turn_back(face, plan->start.instant, *back, words);
}

/// Calls as flags; true: one was pressed.
bool draw_flags(const Face& face, Commands& out) {
  if (!face.view.picture) return false;
  Canvas& canvas = face.canvas;
  const float pole_top = face.below + canvas.px(1), pole_end = face.end + canvas.px(1);
  for (const picture::CallMade& call : face.view.picture->calls) {
    const float x = face.x(call.origin.at);
    canvas.upright(x, pole_top, pole_end, Ink::ink);
    canvas.draw().AddTriangleFilled({x, pole_top}, {x + canvas.px(9), pole_top + canvas.px(4)},
                                    {x, pole_top + canvas.px(8)}, canvas.colour(Ink::ink));
    const Rect flag{x - canvas.px(2), pole_top, canvas.px(13), pole_end - pole_top};
    canvas.tip(flag, face.clock().minutes(call.origin.at) + "  " + call.call.text);
    if (!canvas.press("flag", flag)) continue;
    Chosen chosen = canvas.chosen();
    chosen.event = call.origin.id;
    out.push_back(ask::Choose{chosen});
    out.push_back(ask::ShowEvent{call.origin.id});
    return true;
  }
  return false;
}

/// A pin laid beside a recorded log is drawn from its landmark.
bool is_beside(const Playback& playback, const picture::Remarked& remark) {
  return playback.landmarks && std::ranges::any_of(*playback.landmarks, [&](const Landmark& each) {
           return each.beside && each.words == remark.remark.text;
         });
}

void draw_pin(const Face& face, Instant at, const std::string& words) {
  Canvas& canvas = face.canvas;
  const float r = canvas.px(3.5F);
  const ImVec2 head{face.x(at), face.line};  // clear of the names above it
  canvas.draw().AddCircleFilled(head, r, canvas.colour(Ink::link));
  canvas.draw().AddCircle(head, r, canvas.colour(Ink::ground), 0, std::max(1.0F, canvas.px(1)));
  canvas.tip({head.x - r - 1, head.y - r - 1, 2 * r + 2, 2 * r + 2},
             face.clock().minutes(at) + "  " + words);
}

/// Of the exercise as far as it was known, and those laid beside the log.
void draw_pins(const Face& face) {
  const auto& playback = face.view.playback;
  if (face.view.picture)
    for (const picture::Remarked& each : face.view.picture->remarks)
      if (each.remark.pin.value_or(false) && !(playback && is_beside(*playback, each)))
        draw_pin(face, each.origin.at, each.remark.text);
  if (playback && playback->landmarks)
    for (const Landmark& each : *playback->landmarks)
      if (each.kind == Landmark::Kind::pin && each.beside) draw_pin(face, each.at, each.words);
}

void draw_now(const Face& face) {
  Canvas& canvas = face.canvas;
  const float half = std::max(2.0F, canvas.px(2)) / 2;
  canvas.draw().AddRectFilled({face.now_x - half, face.top - canvas.px(4)},
                              {face.now_x + half, face.end + canvas.px(2)},
                              canvas.colour(Ink::ink));
}

/// Under the pointer, the moment to which it would move the player.
void draw_moment(const Face& face, float pointer_x) {
  Canvas& canvas = face.canvas;
  const float x = std::round(std::clamp(pointer_x, face.left(), face.right()));
  canvas.upright(x, face.top - canvas.px(4), face.end + canvas.px(2), Ink::soft);
  const std::string at = face.clock().seconds(face.ruler.at(x));
  const float width = canvas.fonts().figures_width(ruler_font, at) + canvas.px(8);
  const float box_x = std::clamp(x - width / 2, face.left(), face.right() - width);
  canvas.fill({box_x, face.top - canvas.px(18), width, canvas.px(16)}, Ink::ink, canvas.px(2));
  canvas.figures({box_x + canvas.px(4), face.top - canvas.px(6)}, ruler_font, Ink::ground, at);
}

/// The ruler is the scrubber of a recorded log.
void scrub(const Face& face, RulerState& state, Commands& out) {
  Canvas& canvas = face.canvas;
  const Pointer& p = canvas.pointer();
  const Rect whole{face.left(), face.top - canvas.px(4), canvas.area().w,
                   face.end - face.top + canvas.px(8)};
  const bool over = p.over && whole.contains(p.at);
  if (over && p.pressed) state.dragging = true;
  if (!p.held) state.dragging = false;
  if (state.dragging && (p.pressed || p.moved.x != 0))
    out.push_back(ask::Seek{face.ruler.at(p.at.x)});
  if (over || state.dragging) draw_moment(face, p.at.x);
}

}  // namespace

float Ruler::x(Instant at) const {
  double whole = static_cast<double>(std::max<std::int64_t>(1, (end - begin).count()));
  return x0 + static_cast<float>(static_cast<double>((at - begin).count()) / whole *
                                 static_cast<double>(x1 - x0));
}

Instant Ruler::at(float x) const {
  double part = std::clamp(static_cast<double>((x - x0) / std::max(1.0F, x1 - x0)), 0.0, 1.0);
  return begin +
         Milliseconds(static_cast<std::int64_t>(part * static_cast<double>((end - begin).count())));
}

Ruler ruler_for(const View& view, float x0, float x1) {
  Ruler ruler{view.now - 1h, view.now + 1h, x0, x1};
  if (const protocol::Plan* plan = view.plan()) {
    ruler.begin = plan->start.instant;
    ruler.end = ruler.begin + protocol::from_minutes(plan->duration_minutes);
  } else if (view.playback) {
    ruler.begin = view.playback->begin;
    ruler.end = view.playback->end;
  }
  if (view.playback) {
    ruler.begin = std::min(ruler.begin, view.playback->begin);
    ruler.end = std::max(ruler.end, view.playback->end);
  }
  // A desk opened days before or after the exercise still shows its hours.
  constexpr auto before = 1h, after = 6h;
  ruler.begin = std::min(ruler.begin, std::max(view.now, ruler.begin - before));
  ruler.end = std::max({ruler.end, std::min(view.now, ruler.end + after), ruler.begin + 1min});
  return ruler;
}

void draw_ruler(const View& view, RulerState& state, Canvas& canvas, float top, Commands& out) {
  const Face face(view, canvas, top);
  draw_planned(face, state);
  draw_axis(face);
  draw_walked(face, state);
  draw_ahead(face);
  if (draw_flags(face, out)) return;  // its press is none on the ruler
  draw_pins(face);
  draw_now(face);
  if (view.playback) scrub(face, state, out);
}

}  // namespace stonecall::desk
