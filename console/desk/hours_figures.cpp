#include "console/desk/hours_figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "console/desk/link_text.hpp"
#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::Milliseconds;

constexpr Font figure_label{Type::fine};
constexpr Font figure_unit{Type::title};
constexpr Font figure_words{Type::text};
constexpr float large_figures_from = 480;  // design pixels of width
/// Where each begins, as parts of the width; the last ends there.
constexpr std::array figure_places{0.0F, 0.2F, 0.44F, 0.67F, 0.87F, 1.0F};

/// One of the large clocks.
struct Figure {
  std::string label, brief;  ///< `brief`: the label where the whole one has no room
  std::string value = "–";
  std::string unit = {};          ///< in small type right behind the value
  std::string beside = {};        ///< what it is measured against
  std::string beside_brief = {};  ///< the same in as few words as say it
  std::string deferring = {};  ///< in place of `beside`, where the label does not say who decides
  std::string caution = {};    ///< told on the tip; such a figure says who decides
  bool act = false;            ///< wants action: rust
  bool act_beside = false;     ///< and so do the words beside it
  bool late = false;           ///< no longer current: soft ink
  bool named = false;          ///< by a station, whose name is shortened before it is left out
};

/// An assessment may be a moment old; clocks run on from it.
Milliseconds since_assessed(const View& view) {
  return view.now - view.assessment->now;
}

Figure stay_at(const std::string& station, const View& view) {
  Figure f{"At " + station, "Here"};
  const Milliseconds stay = view.assessment->clock.here + since_assessed(view);
  f.value = span_text(stay);
  if (const auto& minutes = view.assessment->clock.allotted_minutes) {
    const Milliseconds allotted = protocol::from_minutes(*minutes);
    f.beside_brief = "of " + span_text(allotted);
    f.beside = f.beside_brief + " allotted";
    f.act = stay > allotted;
  } else if (view.plan() && station != view.plan()->base.station) {
    f.beside = "not in the plan";
  }
  return f;
}

Figure walk_since(const picture::Visit& last, const View& view) {
  Figure f{"Walking since " + last.station, "Here"};
  if (last.left) {
    f.brief = "Walking";
    f.value = span_text(view.now - *last.left);
  }
  return f;
}

Figure here_figure(const View& view) {
  Figure f{"Here", "Here"};
  if (view.assessment && view.assessment->clock.station) {
    f = stay_at(*view.assessment->clock.station, view);
  } else if (view.assessment && view.picture) {
    const picture::Visit* last = picture::last_visit(*view.picture, view.now);
    f = last ? walk_since(*last, view) : Figure{"Not begun", "Here"};
  }
  f.named = true;
  return f;
}

Figure departure_figure(const View& view, const ClockText& clock) {
  Figure f{"Latest departure", "Departure"};
  f.beside = view.plan() ? "at the base" : "no plan to reckon from";
  if (!view.assessment) return f;
  f.late = outdated(view);
  if (!view.assessment->turn_back) return f;
  const advise::TurnBack& back = *view.assessment->turn_back;
  const Milliseconds left =
      back.latest_departure - (view.assessment->clock.elapsed + since_assessed(view));
  const std::string latest = clock.minutes(clock.start.instant + back.latest_departure);
  f.value = span_text(left);
  f.beside_brief = "at " + latest;
  f.deferring = latest + ", leader decides";
  f.beside = fmt::format("{}, return {} + {:.0f} %", f.beside_brief,
                         minutes_text(back.walk_minutes), back.margin_percent);
  f.act = left < 10min;
  f.caution = "An aid only: the field leader's judgement and local safety rules govern.";
  return f;
}

Figure call_figure(const View& view) {
  Figure f{"A call is useful until", "Call until"};
  if (!view.assessment) return f;
  f.late = outdated(view);
  if (!view.assessment->turn_back) return f;
  const Milliseconds useful = view.assessment->turn_back->latest_useful_call -
                              (view.assessment->clock.elapsed + since_assessed(view));
  f.value = span_text(useful);
  f.act = useful < 5min;
  if (const protocol::Plan* plan = view.plan()) {
    f.beside_brief = fmt::format("delay {:.0f} s", plan->link.delay_seconds);
    f.beside = fmt::format("{}, reaction {:.0f} min", f.beside_brief, plan->link.reaction_minutes);
  }
  return f;
}

Figure word_figure(const View& view, const ClockText& clock) {
  Figure f{"Last word from the field", "Last word"};
  if (view.assessment && view.assessment->clock.word_age) {
    const Milliseconds age = *view.assessment->clock.word_age + since_assessed(view);
    if (age < 1min) {
      f.value = fmt::format("{}", std::max<std::int64_t>(0, age.count() / 1000));
      f.unit = "s ago";
    } else {
      f.value = age_text(age);
      f.unit = age < 1h ? "min ago" : "h ago";
    }
    f.act = age > 3min;
  }
  f.beside = link_words(view, clock);
  // In full it stands in the title line of so narrow a window.
  f.beside_brief = view.link.kind == LinkState::Kind::lost      ? "link lost"
                   : view.link.kind == LinkState::Kind::refused ? "refused"
                                                                : link_words(view, clock, true);
  if (is_down(view.link)) f.act = true;
  f.act_beside = f.act;
  return f;
}

Figure documented_figure(const View& view) {
  Figure f{"Documented", "Docum."};
  if (!view.assessment) return f;
  f.late = outdated(view);
  f.value = fmt::format("{}", view.assessment->documented);
  f.beside_brief = fmt::format("of {}", view.assessment->bagged);
  f.beside = f.beside_brief + " bagged";
  return f;
}

/// Where a figure stands, screen pixels.
struct Place {
  float x = 0, room = 0;
  float label_baseline = 0, baseline = 0;
};

struct Label {
  std::string words;
  bool defers = false;  ///< says who decides, where that is to be said
};

/// Who decides is said as long as there is any room for it.
Label label_of(const Figure& f, const Fonts& fonts, float room) {
  const float at_most = f.named ? room * 1.4F : room;
  const bool whole = fonts.width(figure_label, f.label) <= at_most;
  const std::string& label = whole ? f.label : f.brief;
  if (f.caution.empty()) return {label, true};
  for (const std::string& words : {label + ": the field leader decides", label + ": leader decides",
                                   f.brief + ": leader decides"})
    if (fonts.width(figure_label, words) <= room) return {words, true};
  return {label, false};
}

/// The value with its unit; returns the x behind them.
float draw_value(const Figure& f, Font font, Canvas& canvas, const Place& at) {
  const Fonts& fonts = canvas.fonts();
  const Ink ink = f.late ? Ink::soft : f.act ? Ink::rust : Ink::ink;
  const float end = at.x + canvas.figures({at.x, at.baseline}, font, ink, f.value);
  if (f.unit.empty()) return end;
  const float behind = end + canvas.px(4);
  // Where "min ago" has no room "min" must do.
  std::string_view unit = f.unit;
  if (behind + fonts.width(figure_unit, unit) > at.x + at.room)
    unit = unit.substr(0, unit.find(' '));
  if (behind + fonts.width(figure_unit, unit) > at.x + at.room + canvas.px(12)) return end;
  return behind + canvas.text({behind, at.baseline}, figure_unit, ink, unit);
}

void draw_words_below(const Figure& f, bool deferred, Ink ink, Canvas& canvas, const Place& at) {
  const auto fits = [&](const std::string& words) {
    return canvas.fonts().width(figure_label, words) <= at.room;
  };
  const std::string& words = !deferred && fits(f.deferring) ? f.deferring
                             : fits(f.beside)               ? f.beside
                                                            : f.beside_brief;
  if (fits(words)) canvas.text({at.x, at.baseline + canvas.px(18)}, figure_label, ink, words);
}

/// In one line from `x` on, or in two of smaller type, the lower on the line of the figure.
void draw_words_beside(const Figure& f, Ink ink, Canvas& canvas, float x, const Place& at) {
  constexpr float least_room = 44, line_pitch = 15;  // design pixels
  const Fonts& fonts = canvas.fonts();
  const float room = at.x + at.room - x;
  if (f.beside.empty() || room <= canvas.px(least_room)) return;
  if (fonts.width(figure_words, f.beside) <= room) {
    canvas.text({x, at.baseline}, figure_words, ink, f.beside);
    return;
  }
  auto lines = wrap(fonts, figure_label, f.beside, room);
  const bool too_long = lines.size() > 2 && !f.beside_brief.empty();
  const std::string& words = too_long ? f.beside_brief : f.beside;
  if (too_long) lines = wrap(fonts, figure_label, words, room);
  const float pitch = canvas.px(line_pitch);
  float baseline = at.baseline - (lines.size() > 1 ? pitch : 0);
  for (std::size_t i = 0; i < std::min<std::size_t>(2, lines.size()); ++i) {
    const bool last = i == 1 && lines.size() > 2;
    const std::string line =
        words.substr(lines[i].begin, last ? std::string::npos : lines[i].end - lines[i].begin);
    canvas.text({x, baseline}, figure_label, ink, ellipsis(fonts, figure_label, line, room));
    baseline += pitch;
  }
}

}  // namespace

void draw_figures(const View& view, Canvas& canvas, float top, bool words_below) {
  const std::array figures{here_figure(view), departure_figure(view, canvas.clock()),
                           call_figure(view), word_figure(view, canvas.clock()),
                           documented_figure(view)};
  static_assert(figure_places.size() == std::tuple_size_v<decltype(figures)> + 1);
  const Rect& area = canvas.area();
  const Fonts& fonts = canvas.fonts();
  // In the narrowest windows the large type would run into itself.
  const Font font{area.w < canvas.px(large_figures_from) ? Type::title : Type::figure,
                  Weight::medium};
  const float label_baseline = top + fonts.cap_height(figure_label.type);
  const float baseline = label_baseline + canvas.px(10) + fonts.cap_height(font.type);
  for (std::size_t i = 0; i < figures.size(); ++i) {
    const Figure& f = figures[i];
    const Place at{area.x + std::round(area.w * figure_places[i]),
                   area.w * (figure_places[i + 1] - figure_places[i]) - canvas.px(16),
                   label_baseline, baseline};
    const Label label = label_of(f, fonts, at.room);
    canvas.text({at.x, at.label_baseline}, figure_label, Ink::soft,
                ellipsis(fonts, figure_label, label.words, at.room));
    const float end = draw_value(f, font, canvas, at);
    const Ink ink = f.act_beside ? Ink::rust : Ink::soft;
    if (words_below)
      draw_words_below(f, label.defers, ink, canvas, at);
    else
      draw_words_beside(f, ink, canvas, end + canvas.px(10), at);
    canvas.tip({at.x, top, at.room, at.baseline - top + canvas.px(6)},
               f.caution.empty() ? f.beside : f.beside + ". " + f.caution);
  }
}

}  // namespace stonecall::desk
