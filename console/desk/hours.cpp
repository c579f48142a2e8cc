#include "console/desk/hours.hpp"

#include <algorithm>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/debrief/look_back.hpp"
#include "console/desk/clock_text.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::Instant;
using protocol::Milliseconds;

constexpr Font label_font{Type::fine};
constexpr Font beside_font{Type::text};
// Design pixels of width.
constexpr float words_beside_figures_from = 1000;
constexpr float large_figures_from = 480;
constexpr float both_times_from = 560, name_of_time_from = 400;
constexpr std::array speeds{1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0};

/// One of the large clocks.
struct Figure {
  std::string label;
  std::string value;
  std::string unit;    ///< in small type right behind the value
  std::string beside;  ///< what it is measured against
  bool act = false;    ///< wants action: rust
  std::string tip;
  bool late = false;           ///< no longer current: soft ink
  std::string brief = {};      ///< the label where the whole one has no room
  std::string deferring = {};  ///< in place of `beside`, where the label does not say who decides
  std::string beside_brief = {};  ///< what it is measured against, in as few words as say it
};

bool is_down(const LinkState& link) {
  return link.kind == LinkState::Kind::lost || link.kind == LinkState::Kind::refused;
}

std::vector<Figure> figures_of(const View& view, const ClockText& clock) {
  const advise::Assessment* a = view.assessment.get();
  const protocol::Plan* plan = view.plan();
  Figure here{"Here", "–", "", "", false, ""},
      departure{
          "Latest departure", "–", "", plan ? "at the base" : "no plan to reckon from", false, ""},
      call{"A call is useful until", "–", "", "", false, ""},
      word{"Last word from the field", "–", "", "", false, ""},
      documented{"Documented", "–", "", "", false, ""};
  here.brief = "Here";
  departure.brief = "Departure";
  call.brief = "Call until";
  word.brief = "Last word";
  documented.brief = "Docum.";
  if (a) {
    // An assessment may be a moment old; clocks run on from it.
    Milliseconds since = view.now - a->now;
    Milliseconds elapsed = a->clock.elapsed + since;
    if (a->clock.station) {
      here.label = "At " + *a->clock.station;
      Milliseconds stay = a->clock.here + since;
      here.value = span_text(stay);
      if (a->clock.allotted_minutes) {
        auto allotted = protocol::from_minutes(*a->clock.allotted_minutes);
        here.beside_brief = "of " + span_text(allotted);
        here.beside = here.beside_brief + " allotted";
        here.act = stay > allotted;
      } else if (plan && *a->clock.station != plan->base.station) {
        here.beside = "not in the plan";
      }
    } else if (view.picture) {
      const picture::Visit* last = picture::last_visit(*view.picture, view.now);
      here.label = last ? "Walking since " + last->station : "Not begun";
      if (last && last->left) {
        here.brief = "Walking";
        here.value = span_text(view.now - *last->left);
      }
    }
    if (a->turn_back) {
      const advise::TurnBack& t = *a->turn_back;
      Milliseconds left = t.latest_departure - elapsed;
      departure.value = span_text(left);
      const std::string latest = clock.minutes(clock.start.instant + t.latest_departure);
      departure.beside_brief = "at " + latest;
      departure.deferring = latest + ", leader decides";
      departure.beside = fmt::format("{}, return {} + {:.0f} %", departure.beside_brief,
                                     minutes_text(t.walk_minutes), t.margin_percent);
      departure.act = left < 10min;
      departure.tip = "An aid only: the field leader's judgement and local safety rules govern.";
      Milliseconds useful = t.latest_useful_call - elapsed;
      call.value = span_text(useful);
      call.act = useful < 5min;
      if (plan) {
        call.beside_brief = fmt::format("delay {:.0f} s", plan->link.delay_seconds);
        call.beside =
            fmt::format("{}, reaction {:.0f} min", call.beside_brief, plan->link.reaction_minutes);
      }
    }
    if (a->clock.word_age) {
      Milliseconds age = *a->clock.word_age + since;
      if (age < 1min) {
        word.value = fmt::format("{}", std::max<std::int64_t>(0, age.count() / 1000));
        word.unit = "s ago";
      } else {
        word.value = age_text(age);
        word.unit = age < 1h ? "min ago" : "h ago";
      }
      word.act = age > 3min;
    }
    documented.value = fmt::format("{}", a->documented);
    documented.beside_brief = fmt::format("of {}", a->bagged);
    documented.beside = documented.beside_brief + " bagged";
    for (Figure* worked_out : {&departure, &call, &documented}) worked_out->late = outdated(view);
  }
  word.beside = link_words(view, clock);
  // In full it stands in the title line of so narrow a window.
  word.beside_brief = view.link.kind == LinkState::Kind::lost      ? "link lost"
                      : view.link.kind == LinkState::Kind::refused ? "refused"
                                                                   : link_words(view, clock, true);
  if (is_down(view.link)) word.act = true;
  return {here, departure, call, word, documented};
}

/// The figures, with what they are measured against beside them or, in a narrow window, below.
void draw_figures(const View& view, Canvas& canvas, float top, bool words_below) {
  const Rect& area = canvas.area();
  auto figures = figures_of(view, canvas.clock());
  // Fixed places, so that nothing moves while the clocks run.
  constexpr std::array places{0.0F, 0.2F, 0.44F, 0.67F, 0.87F, 1.0F};
  // In the narrowest windows the large type would run into itself.
  const Font figure_font{area.w < canvas.px(large_figures_from) ? Type::title : Type::figure,
                         Weight::medium};
  float label_baseline = top + canvas.fonts().cap_height(Type::fine);
  float figure_baseline =
      label_baseline + canvas.px(10) + canvas.fonts().cap_height(figure_font.type);
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const Figure& f = figures[i];
    float x = area.x + std::round(area.w * places[i]);
    float room = area.w * (places[i + 1] - places[i]) - canvas.px(16);
    std::string label = f.label;
    // A station's name is shortened before it is left out.
    const float at_most = i == 0 ? room * 1.4F : room;
    if (!f.brief.empty() && canvas.fonts().width(label_font, label) > at_most) label = f.brief;
    // Who decides is said as long as there is any room for it.
    bool deferred = f.tip.empty();
    for (const std::string& whole : {label + ": the field leader decides",
                                     label + ": leader decides", f.brief + ": leader decides"}) {
      if (deferred || canvas.fonts().width(label_font, whole) > room) continue;
      label = whole;
      deferred = true;
    }
    canvas.text({x, label_baseline}, label_font, Ink::soft,
                ellipsis(canvas.fonts(), label_font, label, room));
    Ink ink = f.late ? Ink::soft : f.act ? Ink::rust : Ink::ink;
    float end = x + canvas.figures({x, figure_baseline}, figure_font, ink, f.value);
    if (!f.unit.empty()) {
      // Where "min ago" has no room "min" must do.
      std::string_view unit = f.unit;
      if (end + canvas.px(4) + canvas.fonts().width({Type::title}, unit) > x + room)
        unit = unit.substr(0, unit.find(' '));
      const float after = end + canvas.px(4);
      if (after + canvas.fonts().width({Type::title}, unit) <= x + room + canvas.px(12))
        end = after + canvas.text({after, figure_baseline}, {Type::title}, ink, unit);
    }
    float beside_x = end + canvas.px(10), beside_room = x + room - beside_x;
    Ink beside_ink = f.act && i == 3 ? Ink::rust : Ink::soft;
    if (words_below) {
      const auto fits = [&](const std::string& words) {
        return canvas.fonts().width(label_font, words) <= room;
      };
      std::string words = fits(f.beside) ? f.beside : f.beside_brief;
      if (!deferred && fits(f.deferring)) words = f.deferring;
      if (fits(words))
        canvas.text({x, figure_baseline + canvas.px(18)}, label_font, beside_ink, words);
    } else if (!f.beside.empty() && beside_room > canvas.px(44)) {
      if (canvas.fonts().width(beside_font, f.beside) <= beside_room) {
        canvas.text({beside_x, figure_baseline}, beside_font, beside_ink, f.beside);
      } else {
        auto lines = wrap(canvas.fonts(), label_font, f.beside, beside_room);
        const bool too_long = lines.size() > 2 && !f.beside_brief.empty();
        const std::string& beside = too_long ? f.beside_brief : f.beside;
        if (too_long) lines = wrap(canvas.fonts(), label_font, beside, beside_room);
        float lh = canvas.px(15);
        float baseline = figure_baseline - (lines.size() > 1 ? lh : 0);
        for (std::size_t l = 0; l < std::min<std::size_t>(2, lines.size()); ++l) {
          bool last = l == 1 && lines.size() > 2;
          std::string words = beside.substr(
              lines[l].begin, last ? std::string::npos : lines[l].end - lines[l].begin);
          canvas.text({beside_x, baseline}, label_font, beside_ink,
                      ellipsis(canvas.fonts(), label_font, words, beside_room));
          baseline += lh;
        }
      }
    }
    canvas.tip({x, top, room, figure_baseline - top + canvas.px(6)},
               f.tip.empty() ? f.beside : f.beside + ". " + f.tip);
  }
}

/// A sign to press, and the word for what it is now.
void draw_play_sign(bool playing, Canvas& canvas, float& right, float baseline, Commands& out) {
  float cap = canvas.fonts().cap_height(Type::text);
  float size = cap + canvas.px(2);
  right -= size + canvas.px(10);
  Rect button{right - canvas.px(5), baseline - cap - canvas.px(5), size + canvas.px(10),
              cap + canvas.px(10)};
  ImDrawList& d = canvas.draw();
  if (playing) {
    float bar = std::round(size * 0.32F);
    d.AddRectFilled({right, baseline - cap}, {right + bar, baseline}, canvas.colour(Ink::ink));
    d.AddRectFilled({right + size - bar, baseline - cap}, {right + size, baseline},
                    canvas.colour(Ink::ink));
  } else {
    d.AddTriangleFilled({right + 1, baseline - cap - 1}, {right + 1, baseline + 1},
                        {right + size, baseline - cap / 2}, canvas.colour(Ink::ink));
  }
  if (canvas.press("play", button)) out.push_back(ask::Play{!playing});
  canvas.tip(button, playing ? "Pause (Space)" : "Play (Space)");
  right -= canvas.px(12);
  // The sign says it too, where there is no room for the word.
  std::string_view word = playing ? "playing" : "paused";
  const float least_name = canvas.px(110);  // of the exercise, left of it
  if (right - canvas.fonts().width({Type::fine}, word) > canvas.area().x + least_name)
    right -= canvas.text({right, baseline}, {Type::fine}, Ink::soft, word, Align::right);
}

void draw_player(const View& view, Canvas& canvas, float& right, float baseline, Commands& out) {
  if (!view.playback) {
    if (view.held) {
      right -= canvas.px(16);
      draw_play_sign(!*view.held, canvas, right, baseline, out);
    }
    return;
  }
  const Playback& play = *view.playback;
  std::string speed = fmt::format("{:.0f}×", play.speed);
  right -= canvas.px(26);
  float speed_w = canvas.fonts().figures_width({Type::text, Weight::medium}, "600×");
  right -= speed_w;
  canvas.figures({right, baseline}, {Type::text, Weight::medium}, Ink::ink, speed);
  Rect speed_r{right - canvas.px(4), baseline - canvas.px(16), speed_w + canvas.px(8),
               canvas.px(22)};
  if (canvas.press("speed", speed_r)) {
    auto next = std::upper_bound(speeds.begin(), speeds.end(), play.speed);
    out.push_back(ask::Speed{next == speeds.end() ? speeds.front() : *next});
  }
  canvas.tip(speed_r, "Speed: [ slower, ] faster");
  draw_play_sign(play.playing, canvas, right, baseline, out);
}

std::string mode_words(const View& view) {
  switch (view.mode) {
    case Mode::live: {
      std::size_t kept = 0;
      for (const KeptElsewhere& each : view.link.elsewhere) kept += each.posts;
      // What a person has to decide comes first.
      const bool unclaimed = view.link.unclaimed > 0;
      if (unclaimed) kept = view.link.unclaimed;
      return "live, " + view.source +
             (kept == 0 ? ""
                        : fmt::format("; {} {} {}: F12",
                                      kept == 1 ? "a post" : fmt::format("{} posts", kept),
                                      unclaimed ? "of another time" : "for another exercise",
                                      kept == 1 ? "waits" : "wait"));
    }
    case Mode::replay:
      if (!view.not_kept.empty()) return "Not kept: " + view.not_kept;
      return "replay of " + view.source +
             (view.playback && view.playback->end_beside ? ", the end laid beside" : "");
    case Mode::practice:
      if (!view.not_held.empty())
        return std::string(view.held.value_or(false) ? "cannot go on: " : "cannot pause: ") +
               view.not_held;
      return "practice on " + view.source;
  }
  return {};
}

std::string_view mode_name(Mode mode) {
  return mode == Mode::live ? "live" : mode == Mode::replay ? "replay" : "practice";
}

/// "not taken: “bag thirty one”: its clock is …"; empty where nothing was refused.
std::string refused_words(const LinkState& link) {
  if (!link.refused) return {};
  std::string what = link.refused->event ? line_text(*link.refused->event) : "a post";
  return "The server did not take “" + what + "”: " + link.refused->why;
}

void draw_title(const View& view, Canvas& canvas, float baseline, Commands& out) {
  const Rect& area = canvas.area();
  float right = area.right();
  if (view.plan()) {
    // The chosen way to write time is heard everywhere; its companion stands here.
    ClockText local = canvas.clock(), elapsed = canvas.clock();
    elapsed.mode = TimeMode::elapsed;
    local.mode = canvas.clock().mode == TimeMode::utc ? TimeMode::utc : TimeMode::local;
    std::string zone = local.mode == TimeMode::utc ? "UTC" : "local";
    if (area.w >= canvas.px(both_times_from)) {
      right -=
          canvas.text({right, baseline}, beside_font, Ink::soft, zone, Align::right) + canvas.px(5);
      right -= canvas.figures({right, baseline}, beside_font, Ink::soft, local.seconds(view.now),
                              Align::right) +
               canvas.px(20);
    }
    right -= canvas.figures({right, baseline}, {Type::text, Weight::medium}, Ink::ink,
                            elapsed.seconds(view.now), Align::right) +
             canvas.px(5);
    if (area.w >= canvas.px(name_of_time_from))
      right -= canvas.text({right, baseline}, beside_font, Ink::soft, "elapsed", Align::right);
  }
  draw_player(view, canvas, right, baseline, out);
  float x = area.x;
  std::string name = view.plan() ? view.plan()->name : std::string("No plan yet");
  float width = canvas.text({x, baseline}, {Type::title, Weight::semibold}, Ink::ink,
                            ellipsis(canvas.fonts(), {Type::title, Weight::semibold}, name,
                                     std::max(canvas.px(80), right - x - canvas.px(24))));
  if (canvas.focused())
    canvas.draw().AddRectFilled({x, baseline + canvas.px(4)},
                                {x + std::round(width), baseline + canvas.px(6)},
                                canvas.colour(Ink::focus));
  x += width + canvas.px(24);
  float room = right - x - canvas.px(24);
  if (room <= canvas.px(60)) return;
  std::string urgent = refused_words(view.link);
  // Where the figures have no room for words the link is told of here: colour alone tells nothing.
  if (urgent.empty() && is_down(view.link) && area.w < canvas.px(words_beside_figures_from))
    urgent = link_words(view, canvas.clock());
  if (canvas.fonts().width(beside_font, urgent) > room && is_down(view.link) &&
      refused_words(view.link).empty())
    urgent = link_words(view, canvas.clock(), true);
  const std::string words = urgent.empty() ? mode_words(view) : urgent;
  const bool urges = !urgent.empty() || !view.not_kept.empty();
  const bool name_alone =
      !urges && view.not_held.empty() && canvas.fonts().width(beside_font, words) > room;
  canvas.text({x, baseline}, beside_font, urges ? Ink::rust : Ink::soft,
              name_alone ? std::string(mode_name(view.mode))
                         : ellipsis(canvas.fonts(), beside_font, words, room));
  canvas.tip({x, baseline - canvas.px(16), room, canvas.px(22)}, words);
}

/// Text under the ruler that gives way: each mark's words go right of it, or left, or away.
class MarkWords {
 public:
  MarkWords(Canvas& canvas, float left, float right)
      : canvas_(canvas), left_(left), right_(right) {}
  void add(float x, float baseline, Ink ink, const std::string& words) {
    float w = canvas_.fonts().width(label_font, words), gap = canvas_.px(8);
    for (float from : {x + gap, x - gap - w}) {
      if (from < left_ || from + w > right_) continue;
      bool free = std::none_of(taken_.begin(), taken_.end(), [&](auto t) {
        return from < t.second + gap && t.first < from + w + gap;
      });
      if (!free) continue;
      canvas_.text({from, baseline}, label_font, ink, words);
      taken_.push_back({from, from + w});
      return;
    }
  }
  void take(float from, float to) { taken_.push_back({from, to}); }

 private:
  Canvas& canvas_;
  float left_, right_;
  std::vector<std::pair<float, float>> taken_;
};

/// A pin laid beside a recorded log is drawn from its landmark.
bool is_beside(const View& view, const picture::Remarked& remark) {
  if (!view.playback->landmarks) return false;
  return std::any_of(
      view.playback->landmarks->begin(), view.playback->landmarks->end(),
      [&](const Landmark& each) { return each.beside && each.words == remark.remark.text; });
}

void draw_ruler(const View& view, HoursState& state, Canvas& canvas, float top, Commands& out) {
  const Rect& area = canvas.area();
  Ruler ruler = ruler_for(view, area.x, area.right());
  ImDrawList& d = canvas.draw();
  const protocol::Plan* plan = view.plan();
  float box_h = canvas.px(21);
  float line_y = top + box_h;
  float walked_y = line_y + canvas.px(21), walked_h = canvas.px(8);
  float below_y = walked_y + walked_h + canvas.px(3);
  float end_y = below_y + canvas.px(16);

  // Planned, above the line.
  if (plan) {
    auto box = [&](double begin, double minutes, const std::string& name, bool chosen) {
      Instant from = plan->start.instant + protocol::from_minutes(begin);
      float x0 = std::round(ruler.x(from)),
            x1 = std::round(ruler.x(from + protocol::from_minutes(minutes)));
      Rect r{x0, top, std::max(canvas.px(3), x1 - x0), box_h};
      canvas.fill(r, chosen ? Ink::chosen : Ink::panel);
      canvas.outline(r, Ink::edge);
      float room = r.w - canvas.px(10);
      if (room > canvas.px(14))
        canvas.text({r.x + canvas.px(6),
                     r.y + std::round((r.h + canvas.fonts().cap_height(Type::fine)) / 2)},
                    label_font, chosen ? Ink::ink : Ink::soft,
                    ellipsis(canvas.fonts(), label_font, name, room));
      canvas.tip(r, fmt::format("{}: planned {} for {:.0f} min", name, canvas.clock().minutes(from),
                                minutes));
    };
    if (state.planned_in != view.picture) {
      state.planned_in = view.picture;
      state.planned = debrief::planned_arrivals(*plan);
    }
    for (std::size_t i = 0; i < plan->stations.size(); ++i) {
      const protocol::PlannedStation& s = plan->stations[i];
      box(protocol::in_minutes(state.planned[i]), s.allotted_minutes, s.station,
          canvas.chosen().station == s.station);
    }
  }

  // The line and its ticks, whole in the zone that is shown.
  canvas.rule(area.x, area.right(), line_y, Ink::ink);
  const ClockText& clock = canvas.clock();
  Milliseconds zero = clock.mode == TimeMode::elapsed ? clock.start.instant.time_since_epoch()
                      : clock.mode == TimeMode::local ? Milliseconds(-clock.start.offset)
                                                      : Milliseconds(0);
  double pixels_a_minute = static_cast<double>(ruler.x1 - ruler.x0) /
                           std::max(1.0, protocol::in_minutes(ruler.end - ruler.begin));
  std::int64_t major = 10;
  for (std::int64_t step : {10, 15, 30, 60, 120, 240, 720, 1440, 10080, 43200, 525600})
    if (major = step;
        static_cast<double>(step) * pixels_a_minute >= static_cast<double>(canvas.px(140)))
      break;
  std::int64_t minor = major >= 1440  ? major
                       : major >= 240 ? 60
                       : major >= 60  ? 15
                       : major >= 15  ? 5
                                      : 1;
  std::int64_t first = (ruler.begin.time_since_epoch() - zero).count() / 60000 / minor * minor;
  for (std::int64_t m = first;; m += minor) {
    Instant at{zero + Milliseconds(m * 60000)};
    if (at > ruler.end) break;
    if (at < ruler.begin) continue;
    float x = std::round(ruler.x(at));
    bool is_major = m % major == 0;
    canvas.upright(std::min(x, area.right() - 1), line_y, line_y + canvas.px(is_major ? 8 : 4),
                   Ink::ink);
    if (is_major) {
      std::string words = clock.minutes(at);
      float w = canvas.fonts().figures_width(label_font, words);
      float label_x = x + canvas.px(4);
      if (label_x + w > area.right()) label_x = x - canvas.px(4) - w;
      canvas.figures({label_x, line_y + canvas.px(15)}, label_font, Ink::soft, words);
    }
  }

  // As walked, below it.
  float now_x = std::round(std::clamp(ruler.x(view.now), area.x, area.right()));
  if (view.picture) {
    float middle = walked_y + std::round(walked_h / 2);
    const auto& visits = view.picture->visits;
    if (!visits.empty())
      canvas.rule(std::max(area.x, ruler.x(visits.front().arrived)), now_x, middle, Ink::walked);
    for (const picture::Visit& visit : visits) {
      // A stay may have begun before the ruler does.
      float x0 = std::round(std::max(area.x, ruler.x(visit.arrived)));
      float x1 = std::round(ruler.x(std::min(view.now, visit.left.value_or(view.now))));
      if (x1 <= area.x) continue;
      Rect bar{x0, walked_y, std::max(canvas.px(2), x1 - x0), walked_h};
      bool chosen = canvas.chosen().station == visit.station;
      canvas.fill(bar, chosen ? Ink::ink : Ink::walked);
      canvas.tip({bar.x, bar.y - canvas.px(2), bar.w, bar.h + canvas.px(4)},
                 fmt::format("{}: {} to {}, {}", visit.station, clock.minutes(visit.arrived),
                             visit.left ? clock.minutes(*visit.left) : "now",
                             minutes_text(protocol::in_minutes(visit.left.value_or(view.now) -
                                                               visit.arrived))));
    }
    if (state.picture != view.picture) {
      state.picture = view.picture;
      state.outages = picture::outages(*view.picture);
    }
    for (const picture::Outage& outage : state.outages) {
      float x0 = std::round(ruler.x(outage.from)),
            x1 = std::round(std::max(ruler.x(outage.until), x0 + canvas.px(3)));
      Rect gap{x0, walked_y - 1, x1 - x0, walked_h + 2};
      canvas.fill(gap, Ink::ground);
      for (float x = x0 + canvas.px(2); x < x1 - 1; x += canvas.px(4))
        d.AddRectFilled({x, middle}, {x + canvas.px(1), middle + canvas.px(1)},
                        canvas.colour(Ink::ink));
      canvas.tip(gap, fmt::format("Link outage: words of {} to {} came late",
                                  clock.minutes(outage.from), clock.minutes(outage.until)));
    }
    for (const picture::Sample& sample : view.picture->samples) {
      if (!sample.taken) continue;
      float x = std::round(ruler.x(sample.first));
      canvas.upright(
          x, below_y, below_y + canvas.px(5),
          canvas.chosen().rock && *canvas.chosen().rock == sample.rock ? Ink::rust : Ink::soft);
    }
  }

  // Ahead: what is advised, and the latest.
  MarkWords words(canvas, area.x, area.right());
  words.take(now_x - canvas.px(2), now_x + canvas.px(2));
  if (view.picture)
    for (const picture::CallMade& call : view.picture->calls) {
      const float pole = std::round(ruler.x(call.origin.at));
      words.take(pole, pole + canvas.px(9));
    }
  float mark_baseline = end_y;
  float mark_y = mark_baseline - canvas.px(4);
  auto triangle = [&](float x, Ink ink, bool solid) {
    float r = canvas.px(5);
    ImVec2 a{x, mark_y - r}, b{x + r, mark_y + r * 0.8F}, c{x - r, mark_y + r * 0.8F};
    if (solid)
      d.AddTriangleFilled(a, b, c, canvas.colour(ink));
    else
      d.AddTriangle(a, b, c, canvas.colour(ink), std::max(1.0F, canvas.fonts().scale() * 1.3F));
  };
  if (view.assessment && plan) {
    Instant start = plan->start.instant;
    if (const auto& advice = view.assessment->advice; advice && advice->depart) {
      float x = std::round(ruler.x(start + *advice->depart));
      const bool current = !outdated(view);
      std::string text =
          (current ? "advised " : "was advised ") + clock.minutes(start + *advice->depart);
      if (advice->depart_earliest && advice->depart_latest) {
        float x0 = ruler.x(start + *advice->depart_earliest),
              x1 = ruler.x(start + *advice->depart_latest);
        if (current)
          canvas.fill({x0, walked_y, std::max(canvas.px(2), x1 - x0), walked_h}, Ink::rust_soft);
        text += fmt::format(" ({}–{})", clock.minutes(start + *advice->depart_earliest),
                            clock.minutes(start + *advice->depart_latest));
      }
      triangle(x, current ? Ink::rust : Ink::soft, current);
      words.add(x, mark_baseline, current ? Ink::rust : Ink::soft, text);
      words.take(x - canvas.px(6), x + canvas.px(6));
    }
    if (const auto& back = view.assessment->turn_back) {
      float x = std::round(ruler.x(start + back->latest_departure));
      float useful = std::round(ruler.x(start + back->latest_useful_call));
      words.take(useful - canvas.px(1), useful + canvas.px(1));
      triangle(x, Ink::ink, false);
      words.add(x, mark_baseline, Ink::ink,
                "latest departure " + clock.minutes(start + back->latest_departure));
      words.take(x - canvas.px(6), x + canvas.px(6));
      // To the left of its line, clear of it.
      words.add(useful - canvas.px(2), mark_baseline, Ink::soft,
                "last useful call " + clock.minutes(start + back->latest_useful_call));
      canvas.upright(useful, walked_y - canvas.px(2), mark_y + canvas.px(4), Ink::soft);
      canvas.tip(
          {useful - canvas.px(4), walked_y, canvas.px(8), end_y - walked_y},
          "Latest call that is still useful: " + clock.minutes(start + back->latest_useful_call));
    }
  }
  // Calls as flags.
  if (view.picture) {
    for (const picture::CallMade& call : view.picture->calls) {
      float x = std::round(ruler.x(call.origin.at));
      float pole_top = below_y + canvas.px(1), pole_end = end_y + canvas.px(1);
      canvas.upright(x, pole_top, pole_end, Ink::ink);
      d.AddTriangleFilled({x, pole_top}, {x + canvas.px(9), pole_top + canvas.px(4)},
                          {x, pole_top + canvas.px(8)}, canvas.colour(Ink::ink));
      Rect hit{x - canvas.px(2), pole_top, canvas.px(13), pole_end - pole_top};
      canvas.tip(hit, clock.minutes(call.origin.at) + "  " + call.call.text);
      if (canvas.press("flag", hit)) {
        Chosen chosen = canvas.chosen();
        chosen.event = call.origin.id;
        out.push_back(ask::Choose{chosen});
        out.push_back(ask::ShowEvent{call.origin.id});
        return;
      }
    }
  }

  // Pins: of the exercise as far as it was known, and those laid beside the log.
  auto pin = [&](Instant at, const std::string& words) {
    float x = std::round(ruler.x(at)), r = canvas.px(3.5F);
    ImVec2 head{x, line_y};  // clear of the names above it
    d.AddCircleFilled(head, r, canvas.colour(Ink::link));
    d.AddCircle(head, r, canvas.colour(Ink::ground), 0, std::max(1.0F, canvas.px(1)));
    canvas.tip({x - r - 1, head.y - r - 1, 2 * r + 2, 2 * r + 2}, clock.minutes(at) + "  " + words);
  };
  if (view.picture)
    for (const picture::Remarked& remark : view.picture->remarks)
      if (remark.remark.pin.value_or(false) && !(view.playback && is_beside(view, remark)))
        pin(remark.origin.at, remark.remark.text);
  if (view.playback && view.playback->landmarks)
    for (const Landmark& landmark : *view.playback->landmarks)
      if (landmark.kind == Landmark::Kind::pin && landmark.beside) pin(landmark.at, landmark.words);

  // Now.
  float now_w = std::max(2.0F, canvas.px(2));
  d.AddRectFilled({now_x - now_w / 2, top - canvas.px(4)},
                  {now_x + now_w / 2, end_y + canvas.px(2)}, canvas.colour(Ink::ink));

  // The ruler is the scrubber of a recorded log.
  if (!view.playback) return;
  const Pointer& p = canvas.pointer();
  Rect whole{area.x, top - canvas.px(4), area.w, end_y - top + canvas.px(8)};
  if (p.over && p.pressed && whole.contains(p.at)) state.dragging = true;
  if (!p.held) state.dragging = false;
  if (state.dragging && (p.pressed || p.moved.x != 0)) out.push_back(ask::Seek{ruler.at(p.at.x)});
  if ((p.over && whole.contains(p.at)) || state.dragging) {
    float x = std::round(std::clamp(p.at.x, area.x, area.right()));
    canvas.upright(x, top - canvas.px(4), end_y + canvas.px(2), Ink::soft);
    std::string at = clock.seconds(ruler.at(x));
    float w = canvas.fonts().figures_width(label_font, at) + canvas.px(8);
    float box_x = std::clamp(x - w / 2, area.x, area.right() - w);
    canvas.fill({box_x, top - canvas.px(18), w, canvas.px(16)}, Ink::ink, canvas.px(2));
    canvas.figures({box_x + canvas.px(4), top - canvas.px(6)}, label_font, Ink::ground, at);
  }
}

bool has_player(const View& view) {
  return view.playback.has_value();
}

bool has_landmarks(const View& view) {
  return view.playback && view.playback->landmarks;
}

void answer_keys(const View& view, Canvas& canvas, Commands& out) {
  if (canvas.asked("hours.pin")) {
    // The words are kept: whatever clock is shown when they are read, they say which one they mean.
    std::string words = "pinned at " + canvas.clock().seconds(view.now);
    if (canvas.clock().mode != TimeMode::elapsed) words += " " + canvas.clock().zone();
    out.push_back(ask::Post{protocol::Remark{std::move(words), std::nullopt, true}, {}});
  }
  if (view.held && canvas.asked("hours.play")) out.push_back(ask::Play{*view.held});
  if (!view.playback) return;
  const Playback& play = *view.playback;
  auto seek = [&](Instant to) { out.push_back(ask::Seek{std::clamp(to, play.begin, play.end)}); };
  if (canvas.asked("hours.play")) out.push_back(ask::Play{!play.playing});
  if (canvas.asked("hours.faster"))
    if (auto next = std::upper_bound(speeds.begin(), speeds.end(), play.speed);
        next != speeds.end())
      out.push_back(ask::Speed{*next});
  if (canvas.asked("hours.slower"))
    if (auto here = std::lower_bound(speeds.begin(), speeds.end(), play.speed);
        here != speeds.begin())
      out.push_back(ask::Speed{*std::prev(here)});
  struct Step {
    std::string_view id;
    Milliseconds by;
  };
  static constexpr std::array steps{Step{"hours.back", -10s},         Step{"hours.on", 10s},
                                    Step{"hours.back_second", -1s},   Step{"hours.on_second", 1s},
                                    Step{"hours.back_minute", -1min}, Step{"hours.on_minute", 1min},
                                    Step{"hours.back_ten", -10min},   Step{"hours.on_ten", 10min}};
  for (const Step& step : steps)
    if (canvas.asked(step.id)) seek(view.now + step.by);
  if (canvas.asked("hours.begin")) seek(play.begin);
  if (canvas.asked("hours.end")) seek(play.end);
  if (canvas.asked("hours.next_event")) out.push_back(ask::Step{1});
  if (canvas.asked("hours.previous_event")) out.push_back(ask::Step{-1});
  if (!play.landmarks) return;
  struct Jump {
    std::string_view next, previous;
    Landmark::Kind kind;
  };
  using Kind = Landmark::Kind;
  static constexpr std::array jumps{
      Jump{"hours.next_arrival", "hours.previous_arrival", Kind::arrival},
      Jump{"hours.next_departure", "hours.previous_departure", Kind::departure},
      Jump{"hours.next_sample", "hours.previous_sample", Kind::sample},
      Jump{"hours.next_call", "hours.previous_call", Kind::call},
      Jump{"hours.next_pin", "hours.previous_pin", Kind::pin}};
  for (const Jump& jump : jumps) {
    for (bool forward : {true, false}) {
      if (!canvas.asked(forward ? jump.next : jump.previous)) continue;
      if (auto to = landmark_from(*play.landmarks, jump.kind, view.now, forward)) seek(*to);
    }
  }
}

}  // namespace

std::string link_words(const View& view, const ClockText& clock, bool brief) {
  const LinkState& link = view.link;
  std::string words;
  if (link.kind == LinkState::Kind::connecting) words = "connecting";
  if (link.kind == LinkState::Kind::refused) words = "refused: " + link.words;
  if (link.kind == LinkState::Kind::lost) {
    words = "link lost";
    if (link.since)
      words += " since " + (brief ? clock.minutes(*link.since) : clock.seconds(*link.since));
  }
  if (link.waiting > 0)
    words += fmt::format("{}{} {}{}", words.empty() ? "" : ", ", link.waiting,
                         link.waiting == 1 ? "waits" : "wait", brief ? "" : " to go out");
  return words;
}

std::optional<Instant> landmark_from(const std::vector<Landmark>& landmarks, Landmark::Kind kind,
                                     Instant now, bool forward) {
  std::optional<Instant> best;
  for (const Landmark& each : landmarks) {
    if (each.kind != kind) continue;
    if (forward ? each.at > now && (!best || each.at < *best)
                : each.at < now && (!best || each.at > *best))
      best = each.at;
  }
  return best;
}

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

std::span<const KeyLine> hours_keys() {
  constexpr auto here = RegionId::hours;
  constexpr int shift = GLFW_MOD_SHIFT, ctrl = GLFW_MOD_CONTROL, alt = GLFW_MOD_ALT;
  static const std::vector<KeyLine> lines{
      {"hours.play",
       "play or pause",
       {{GLFW_KEY_SPACE, 0}},
       here,
       false,
       [](const View& v) { return v.playback || v.held; }},
      {"hours.faster", "faster", {{GLFW_KEY_RIGHT_BRACKET, 0}}, here, false, has_player},
      {"hours.slower", "slower", {{GLFW_KEY_LEFT_BRACKET, 0}}, here, false, has_player},
      {"hours.back", "10 seconds back", {{GLFW_KEY_LEFT, 0}}, here, false, has_player},
      {"hours.on", "10 seconds on", {{GLFW_KEY_RIGHT, 0}}, here, false, has_player},
      {"hours.back_second", "a second back", {{GLFW_KEY_LEFT, alt}}, here, false, has_player},
      {"hours.on_second", "a second on", {{GLFW_KEY_RIGHT, alt}}, here, false, has_player},
      {"hours.back_minute", "a minute back", {{GLFW_KEY_LEFT, shift}}, here, false, has_player},
      {"hours.on_minute", "a minute on", {{GLFW_KEY_RIGHT, shift}}, here, false, has_player},
      {"hours.back_ten", "10 minutes back", {{GLFW_KEY_LEFT, ctrl}}, here, false, has_player},
      {"hours.on_ten", "10 minutes on", {{GLFW_KEY_RIGHT, ctrl}}, here, false, has_player},
      {"hours.previous_event", "event before", {{GLFW_KEY_COMMA, 0}}, here, false, has_player},
      {"hours.next_event", "next event", {{GLFW_KEY_PERIOD, 0}}, here, false, has_player},
      {"hours.next_arrival", "next arrival", {{GLFW_KEY_A, 0}}, here, false, has_landmarks},
      {"hours.previous_arrival",
       "arrival before",
       {{GLFW_KEY_A, shift}},
       here,
       false,
       has_landmarks},
      {"hours.next_departure", "next departure", {{GLFW_KEY_D, 0}}, here, false, has_landmarks},
      {"hours.previous_departure",
       "departure before",
       {{GLFW_KEY_D, shift}},
       here,
       false,
       has_landmarks},
      {"hours.next_sample", "next sample", {{GLFW_KEY_S, 0}}, here, false, has_landmarks},
      {"hours.previous_sample", "sample before", {{GLFW_KEY_S, shift}}, here, false, has_landmarks},
      {"hours.next_call", "next call", {{GLFW_KEY_C, 0}}, here, false, has_landmarks},
      {"hours.previous_call", "call before", {{GLFW_KEY_C, shift}}, here, false, has_landmarks},
      {"hours.next_pin", "next pin", {{GLFW_KEY_P, 0}}, here, false, has_landmarks},
      {"hours.previous_pin", "pin before", {{GLFW_KEY_P, shift}}, here, false, has_landmarks},
      {"hours.pin", "pin this moment", {{GLFW_KEY_M, 0}}, here},
      {"hours.begin", "to the beginning", {{GLFW_KEY_HOME, 0}}, here, false, has_player},
      {"hours.end", "to the end", {{GLFW_KEY_END, 0}}, here, false, has_player},
  };
  return lines;
}

Commands draw_hours(const View& view, HoursState& state, Canvas& canvas, bool compact,
                    bool words_below) {
  Commands out;
  const Rect& area = canvas.area();
  float title_baseline =
      area.y + canvas.px(compact ? 2 : 4) + canvas.fonts().cap_height(Type::title);
  draw_title(view, canvas, title_baseline, out);
  float figures_top = title_baseline + canvas.px(words_below ? 14 : compact ? 10 : 19);
  draw_figures(view, canvas, figures_top, words_below);
  float ruler_top = area.bottom() - canvas.px(72);
  answer_keys(view, canvas, out);
  const float figures_high = canvas.px(words_below ? 64 : 44);
  if (ruler_top >= figures_top + figures_high) draw_ruler(view, state, canvas, ruler_top, out);
  return out;
}

}  // namespace stonecall::desk
