#include "console/desk/hours_player.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::Instant;
using protocol::Milliseconds;

constexpr Font speed_font{Type::text, Weight::medium};
constexpr std::array speeds{1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0};

/// Two bars while it plays may be paused, else a triangle; `left` of them, on the baseline.
void draw_sign(bool playing, Canvas& canvas, float left, float baseline, float size) {
  const float cap = canvas.fonts().cap_height(Type::text);
  const ImU32 ink = canvas.colour(Ink::ink);
  ImDrawList& d = canvas.draw();
  if (playing) {
    const float bar = std::round(size * 0.32F);
    d.AddRectFilled({left, baseline - cap}, {left + bar, baseline}, ink);
    d.AddRectFilled({left + size - bar, baseline - cap}, {left + size, baseline}, ink);
  } else {
    d.AddTriangleFilled({left + 1, baseline - cap - 1}, {left + 1, baseline + 1},
                        {left + size, baseline - cap / 2}, ink);
  }
}

/// A sign to press, and the word for what it is now; returns the x left of them.
float draw_play(bool playing, Canvas& canvas, float right, float baseline, Commands& out) {
  const float cap = canvas.fonts().cap_height(Type::text), size = cap + canvas.px(2);
  right -= size + canvas.px(10);
  draw_sign(playing, canvas, right, baseline, size);
  const Rect button{right - canvas.px(5), baseline - cap - canvas.px(5), size + canvas.px(10),
                    cap + canvas.px(10)};
  if (canvas.press("play", button)) out.push_back(ask::Play{!playing});
  canvas.tip(button, playing ? "Pause (Space)" : "Play (Space)");
  right -= canvas.px(12);
  // The sign says it too, where there is no room for the word.
  const std::string_view word = playing ? "playing" : "paused";
  const float least_name = canvas.px(110);  // of the exercise, left of it
  if (right - canvas.fonts().width({Type::fine}, word) > canvas.area().x + least_name)
    right -= canvas.text({right, baseline}, {Type::fine}, Ink::soft, word, Align::right);
  return right;
}

/// The speed, to be pressed for the next; returns the x left of it.
float draw_speed(double speed, Canvas& canvas, float right, float baseline, Commands& out) {
  const float width = canvas.fonts().figures_width(speed_font, "600×");
  right -= canvas.px(26);
  right -= width;
  canvas.figures({right, baseline}, speed_font, Ink::ink, fmt::format("{:.0f}×", speed));
  const Rect button{right - canvas.px(4), baseline - canvas.px(16), width + canvas.px(8),
                    canvas.px(22)};
  if (canvas.press("speed", button)) {
    const auto next = std::ranges::upper_bound(speeds, speed);
    out.push_back(ask::Speed{next == speeds.end() ? speeds.front() : *next});
  }
  canvas.tip(button, "Speed: [ slower, ] faster");
  return right;
}

void answer_speed_keys(double speed, const Canvas& canvas, Commands& out) {
  if (canvas.asked("hours.faster"))
    if (const auto next = std::ranges::upper_bound(speeds, speed); next != speeds.end())
      out.push_back(ask::Speed{*next});
  if (canvas.asked("hours.slower"))
    if (const auto here = std::ranges::lower_bound(speeds, speed); here != speeds.begin())
      out.push_back(ask::Speed{*std::prev(here)});
}

void answer_step_keys(const View& view, const Canvas& canvas, auto&& seek, Commands& out) {
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
  if (canvas.asked("hours.begin")) seek(view.playback->begin);
  if (canvas.asked("hours.end")) seek(view.playback->end);
  if (canvas.asked("hours.next_event")) out.push_back(ask::Step{1});
  if (canvas.asked("hours.previous_event")) out.push_back(ask::Step{-1});
}

void answer_jump_keys(const View& view, const Canvas& canvas, auto&& seek) {
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
    for (const bool forward : {true, false}) {
      if (!canvas.asked(forward ? jump.next : jump.previous)) continue;
      if (const auto to = landmark_from(*view.playback->landmarks, jump.kind, view.now, forward))
        seek(*to);
    }
  }
}

}  // namespace

bool has_player(const View& view) {
  return view.playback.has_value();
}

bool has_landmarks(const View& view) {
  return view.playback && view.playback->landmarks;
}

float draw_player(const View& view, Canvas& canvas, float right, float baseline, Commands& out) {
  if (view.playback) {
    right = draw_speed(view.playback->speed, canvas, right, baseline, out);
    return draw_play(view.playback->playing, canvas, right, baseline, out);
  }
  if (view.held) return draw_play(!*view.held, canvas, right - canvas.px(16), baseline, out);
  return right;
}

void answer_player_keys(const View& view, const Canvas& canvas, Commands& out) {
  if (view.held && canvas.asked("hours.play")) out.push_back(ask::Play{*view.held});
  if (!view.playback) return;
  const Playback& play = *view.playback;
  const auto seek = [&](Instant to) {
    out.push_back(ask::Seek{std::clamp(to, play.begin, play.end)});
  };
  if (canvas.asked("hours.play")) out.push_back(ask::Play{!play.playing});
  answer_speed_keys(play.speed, canvas, out);
  answer_step_keys(view, canvas, seek, out);
  if (play.landmarks) answer_jump_keys(view, canvas, seek);
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

}  // namespace stonecall::desk
