#include "console/desk/hours.hpp"

#include <GLFW/glfw3.h>

#include "console/desk/hours_figures.hpp"
#include "console/desk/hours_player.hpp"
#include "console/desk/hours_title.hpp"

namespace stonecall::desk {
namespace {

/// The words are kept: whatever clock is shown when they are read, they say which one they mean.
ask::Post pin_now(const View& view, const ClockText& clock) {
  std::string words = "pinned at " + clock.seconds(view.now);
  if (clock.mode != TimeMode::elapsed) words += " " + clock.zone();
  return {protocol::Remark{std::move(words), std::nullopt, true}, {}};
}

}  // namespace

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
  if (canvas.asked("hours.pin")) out.push_back(pin_now(view, canvas.clock()));
  answer_player_keys(view, canvas, out);
  const float figures_high = canvas.px(words_below ? 64 : 44);
  if (ruler_top >= figures_top + figures_high)
    draw_ruler(view, state.ruler, canvas, ruler_top, out);
  return out;
}

}  // namespace stonecall::desk
