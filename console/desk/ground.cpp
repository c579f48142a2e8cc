#include "console/desk/ground.hpp"

#include <chrono>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/desk/chart_painter.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::desk {
namespace {

constexpr double zoom_step = 1.25;
constexpr double pan_step = 60;  // pixels a key press

/// The plate, made anew where the picture is another or the sun has moved on.
void follow(const View& view, GroundState& state) {
  using namespace std::chrono_literals;
  bool sun_moved = view.now - state.sun_at >= 1min || view.now < state.sun_at;
  if (state.picture == view.picture && state.assessment == view.assessment && !sun_moved) return;
  state.picture = view.picture;
  state.assessment = view.assessment;
  state.sun_at = view.now;
  state.plate = plates::ground_plate(*view.picture, view.assessment.get(), view.now);
}

std::string sun_text(const std::optional<plates::SunNow>& sun) {
  if (!sun) return {};
  if (sun->elevation_degrees <= 0) return "sun below the horizon";
  return fmt::format("sun {:.0f}°, {:.0f}° up", sun->azimuth_degrees, sun->elevation_degrees);
}

std::string tip_text(const GroundState& state, const charts::PlanSpot& spot) {
  if (spot.kind == charts::PlanSpot::Kind::place) return state.plate.stations[spot.index];
  const auto& sample = state.picture->samples[state.plate.samples[spot.index]];
  std::string text = "sample " + plates::sample_name(sample);
  if (!sample.rock.empty()) text += ": " + sample.rock;
  if (!sample.station.empty()) text += ", " + sample.station;
  if (!state.plate.view.finds[spot.index].at) text += " (where it lay is not known)";
  return text;
}

/// What stands below the chart.
struct Under {
  std::string text;
  std::string in_full;
};

Under under_the_chart(const View& view, const GroundState& state) {
  Under under;
  // At least the first sentence of the caution stands there whole, if need be in two lines.
  if (view.assessment && view.assessment->turn_back) {
    under.text = advise::turn_back_caution.substr(0, advise::turn_back_caution.find(". ") + 1);
    under.in_full = advise::turn_back_caution;
  }
  if (state.plate.without_place > 0) {
    const std::string left_out =
        fmt::format("{}{} at unplanned stations: not drawn.", under.text.empty() ? "" : " ",
                    state.plate.without_place);
    under.text += left_out;
    under.in_full += left_out;
  }
  return under;
}

void mark_chosen(const View& view, GroundState& state, const Chosen& chosen) {
  auto& drawn = state.plate.view;
  for (std::size_t i = 0; i < drawn.places.size(); ++i)
    drawn.places[i].chosen = chosen.station == state.plate.stations[i];
  for (std::size_t i = 0; i < drawn.finds.size(); ++i)
    drawn.finds[i].chosen =
        chosen.sample == plates::sample_name(view.picture->samples[state.plate.samples[i]]);
}

/// Where the chart is drawn: its own units are pixels at 100 %.
struct Frame {
  Rect rect;
  float scale;
  double width() const { return rect.w / scale; }
  double height() const { return rect.h / scale; }
  charts::Point point(const Pointer& pointer) const {
    return {(pointer.at.x - rect.x) / scale, (pointer.at.y - rect.y) / scale};
  }
  bool under(const Pointer& pointer) const { return pointer.over && rect.contains(pointer.at); }
};

/// What is to be seen, once it has been moved as keys and pointer ask.
charts::Viewport viewport_asked_for(GroundState& state, const Canvas& canvas, const Frame& frame) {
  const double w = frame.width(), h = frame.height();
  charts::Viewport viewport = state.viewport.value_or(charts::fitted(state.plate.view, w, h));
  const Pointer& p = canvas.pointer();
  const auto move_to = [&](charts::Viewport to) { state.viewport = viewport = to; };
  const auto pan = [&](double dx, double dy) {
    charts::Viewport to = viewport;
    to.centre.east -= dx * viewport.metres_per_pixel;
    to.centre.north += dy * viewport.metres_per_pixel;
    move_to(to);
  };
  const auto zoom = [&](charts::Point about, double by) {
    move_to(charts::zoomed(viewport, w, h, about, by));
  };
  if (frame.under(p) && p.wheel != 0) zoom(frame.point(p), std::pow(zoom_step, p.wheel));
  if (p.held && (p.moved.x != 0 || p.moved.y != 0))
    pan(p.moved.x / frame.scale, p.moved.y / frame.scale);
  if (canvas.asked("ground.nearer")) zoom({w / 2, h / 2}, zoom_step);
  if (canvas.asked("ground.farther")) zoom({w / 2, h / 2}, 1 / zoom_step);
  if (canvas.asked("ground.left")) pan(pan_step, 0);
  if (canvas.asked("ground.right")) pan(-pan_step, 0);
  if (canvas.asked("ground.up")) pan(0, pan_step);
  if (canvas.asked("ground.down")) pan(0, -pan_step);
  if (canvas.asked("ground.party")) {
    for (const auto& place : state.plate.view.places)
      if (place.here) move_to({place.at, std::min(viewport.metres_per_pixel, 1.0)});
  }
  if (canvas.asked("ground.fit") || (frame.under(p) && p.twice)) {
    state.viewport.reset();
    viewport = charts::fitted(state.plate.view, w, h);
  }
  return viewport;
}

std::optional<Chosen> station_asked_for(const GroundState& state, const Canvas& canvas) {
  const bool next = canvas.asked("ground.next");
  if (!next && !canvas.asked("ground.previous")) return std::nullopt;
  const std::size_t n = state.plate.stations.size();
  std::size_t chosen = next ? n - 1 : 0;
  for (std::size_t i = 0; i < n; ++i)
    if (state.plate.view.places[i].chosen) chosen = i;
  Chosen to = canvas.chosen();
  to.station = state.plate.stations[(chosen + (next ? 1 : n - 1)) % n];
  return to;
}

Chosen chosen_with(const GroundState& state, const charts::PlanSpot& spot, Chosen chosen) {
  if (spot.kind == charts::PlanSpot::Kind::place) {
    chosen.station = state.plate.stations[spot.index];
    return chosen;
  }
  const auto& sample = state.picture->samples[state.plate.samples[spot.index]];
  chosen.sample = plates::sample_name(sample);
  if (!sample.rock.empty()) chosen.rock = sample.rock;
  return chosen;
}

}  // namespace

Commands draw_ground(const View& view, GroundState& state, Canvas& canvas) {
  Commands out;
  const Rect& area = canvas.area();
  if (!view.plan()) {
    float top = canvas.heading("Ground");
    canvas.text({area.x, top + canvas.px(14)}, {Type::text}, Ink::soft,
                "No plan yet: no place is known.");
    return out;
  }
  follow(view, state);
  float top = canvas.heading("Ground", sun_text(state.plate.sun));

  const Under under = under_the_chart(view, state);
  const auto under_lines = wrap(canvas.fonts(), {Type::fine}, under.text, area.w);
  const float under_high = canvas.fonts().line_height(Type::fine);
  const float foot =
      under.text.empty() ? 0 : canvas.px(3) + under_high * static_cast<float>(under_lines.size());
  const Frame frame{{area.x, top - canvas.px(4), area.w, area.bottom() - top + canvas.px(4) - foot},
                    canvas.fonts().scale()};
  if (frame.width() < 60 || frame.height() < 60) return out;

  mark_chosen(view, state, canvas.chosen());
  const charts::Viewport viewport = viewport_asked_for(state, canvas, frame);
  if (auto to = station_asked_for(state, canvas)) out.push_back(ask::Choose{*to});

  const charts::PlanChart plan = charts::plan_view(state.plate.view, frame.width(), frame.height(),
                                                   viewport, measure_of(canvas.fonts()));
  paint(canvas, plan.chart, {frame.rect.x, frame.rect.y});

  const Pointer& p = canvas.pointer();
  if (const auto spot = frame.under(p) ? charts::spot_at(plan, frame.point(p)) : std::nullopt) {
    ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
    canvas.tip(frame.rect, tip_text(state, *spot));
    if (p.pressed) out.push_back(ask::Choose{chosen_with(state, *spot, canvas.chosen())});
  }

  if (foot > 0) {
    const float first =
        area.bottom() - canvas.px(3) - under_high * static_cast<float>(under_lines.size() - 1);
    canvas.paragraph({area.x, first}, {Type::fine}, Ink::soft, under.text, area.w);
    canvas.tip({area.x, area.bottom() - foot, area.w, foot}, under.in_full);
  }
  return out;
}

std::span<const KeyLine> ground_keys() {
  constexpr auto here = RegionId::ground;
  static const std::vector<KeyLine> lines{
      {"ground.nearer",
       "nearer",
       {{GLFW_KEY_EQUAL, 0}, {GLFW_KEY_KP_ADD, 0}, {GLFW_KEY_EQUAL, GLFW_MOD_SHIFT}},
       here},
      {"ground.farther", "farther", {{GLFW_KEY_MINUS, 0}, {GLFW_KEY_KP_SUBTRACT, 0}}, here},
      {"ground.left", "to the west", {{GLFW_KEY_LEFT, 0}}, here},
      {"ground.right", "to the east", {{GLFW_KEY_RIGHT, 0}}, here},
      {"ground.up", "to the north", {{GLFW_KEY_UP, 0}}, here},
      {"ground.down", "to the south", {{GLFW_KEY_DOWN, 0}}, here},
      {"ground.fit", "all of it", {{GLFW_KEY_0, 0}, {GLFW_KEY_HOME, 0}}, here},
      {"ground.party", "to the party", {{GLFW_KEY_P, 0}}, here},
      {"ground.next", "choose the next station", {{GLFW_KEY_PAGE_DOWN, 0}}, here},
      {"ground.previous", "choose the station before", {{GLFW_KEY_PAGE_UP, 0}}, here},
  };
  return lines;
}

}  // namespace stonecall::desk
