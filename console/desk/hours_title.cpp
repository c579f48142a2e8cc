#include "console/desk/hours_title.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "console/desk/hours_player.hpp"
#include "console/desk/link_text.hpp"

namespace stonecall::desk {
namespace {

constexpr Font exercise_font{Type::title, Weight::semibold};
constexpr Font time_font{Type::text};
constexpr Font mode_font{Type::text};
// Design pixels of width.
constexpr float words_beside_figures_from = 1000;
constexpr float both_times_from = 560, name_of_time_from = 400;

/// Posts that wait for another exercise, or for a word whose they are: "; 2 posts for another
/// exercise wait: F12".
std::string kept_words(const LinkState& link) {
  // What a person has to decide comes first.
  const bool unclaimed = link.unclaimed > 0;
  std::size_t kept = link.unclaimed;
  if (!unclaimed)
    for (const KeptElsewhere& each : link.elsewhere) kept += each.posts;
  if (kept == 0) return {};
  return fmt::format("; {} {} {}: F12", kept == 1 ? "a post" : fmt::format("{} posts", kept),
                     unclaimed ? "of another time" : "for another exercise",
                     kept == 1 ? "waits" : "wait");
}

std::string mode_words(const View& view) {
  switch (view.mode) {
    case Mode::live:
      if (!view.not_kept.empty())
        return "What waits to go out is lost if this desk ends, it cannot be kept: " +
               view.not_kept;
      return "live, " + view.source + kept_words(view.link);
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

/// What stands in place of the mode until it is put right; empty: nothing.
std::string urgent_words(const View& view, const Canvas& canvas, float room) {
  std::string refused = refused_words(view.link);
  if (!refused.empty()) return refused;
  // Where the figures have no room for words the link is told of here: colour alone tells nothing.
  if (!is_down(view.link) || canvas.area().w >= canvas.px(words_beside_figures_from)) return {};
  std::string down = link_words(view, canvas.clock());
  return canvas.fonts().width(mode_font, down) <= room ? down
                                                       : link_words(view, canvas.clock(), true);
}

/// What is at hand, from `x` on, beside the name.
void draw_mode(const View& view, Canvas& canvas, float x, float room, float baseline) {
  const std::string urgent = urgent_words(view, canvas, room);
  const std::string words = urgent.empty() ? mode_words(view) : urgent;
  const bool urges = !urgent.empty() || !view.not_kept.empty();
  const bool name_alone =
      !urges && view.not_held.empty() && canvas.fonts().width(mode_font, words) > room;
  canvas.text({x, baseline}, mode_font, urges ? Ink::rust : Ink::soft,
              name_alone ? std::string(mode_name(view.mode))
                         : ellipsis(canvas.fonts(), mode_font, words, room));
  canvas.tip({x, baseline - canvas.px(16), room, canvas.px(22)}, words);
}

/// The time elapsed, and where there is room that of the day, ending at `right`; returns the x left
/// of them.
float draw_times(const View& view, Canvas& canvas, float right, float baseline) {
  const float width = canvas.area().w;
  // The chosen way to write time is heard everywhere; its companion stands here.
  ClockText day = canvas.clock(), elapsed = canvas.clock();
  elapsed.mode = TimeMode::elapsed;
  if (day.mode != TimeMode::utc) day.mode = TimeMode::local;
  if (width >= canvas.px(both_times_from)) {
    const std::string_view zone = day.mode == TimeMode::utc ? "UTC" : "local";
    right -=
        canvas.text({right, baseline}, time_font, Ink::soft, zone, Align::right) + canvas.px(5);
    right -= canvas.figures({right, baseline}, time_font, Ink::soft, day.seconds(view.now),
                            Align::right) +
             canvas.px(20);
  }
  right -= canvas.figures({right, baseline}, {Type::text, Weight::medium}, Ink::ink,
                          elapsed.seconds(view.now), Align::right) +
           canvas.px(5);
  if (width >= canvas.px(name_of_time_from))
    right -= canvas.text({right, baseline}, time_font, Ink::soft, "elapsed", Align::right);
  return right;
}

}  // namespace

void draw_title(const View& view, Canvas& canvas, float baseline, Commands& out) {
  const Rect& area = canvas.area();
  float right = area.right();
  if (view.plan()) right = draw_times(view, canvas, right, baseline);
  right = draw_player(view, canvas, right, baseline, out);
  const std::string name = view.plan() ? view.plan()->name : std::string("No plan yet");
  const float most = std::max(canvas.px(80), right - area.x - canvas.px(24));
  const float width = canvas.text({area.x, baseline}, exercise_font, Ink::ink,
                                  ellipsis(canvas.fonts(), exercise_font, name, most));
  if (canvas.focused())
    canvas.draw().AddRectFilled({area.x, baseline + canvas.px(4)},
                                {area.x + std::round(width), baseline + canvas.px(6)},
                                canvas.colour(Ink::focus));
  const float x = area.x + (width + canvas.px(24)), room = right - x - canvas.px(24);
  if (room > canvas.px(60)) draw_mode(view, canvas, x, room, baseline);
}

}  // namespace stonecall::desk
