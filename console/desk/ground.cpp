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

  const float scale = canvas.fonts().scale();
  const bool caution = view.assessment && view.assessment->turn_back;
  // At least the first sentence of the caution stands there whole, if need be in two lines.
  std::string under, under_in_full;
  if (caution) {
    under = advise::turn_back_caution.substr(0, advise::turn_back_caution.find(". ") + 1);
    under_in_full = advise::turn_back_caution;
  }
  if (state.plate.without_place > 0) {
    std::string left_out = fmt::format("{}{} at unplanned stations: not drawn.",
                                       under.empty() ? "" : " ", state.plate.without_place);
    under += left_out;
    under_in_full += left_out;
  }
  const auto under_lines = wrap(canvas.fonts(), {Type::fine}, under, area.w);
  const float under_high = canvas.fonts().line_height(Type::fine);
  float foot =
      under.empty() ? 0 : canvas.px(3) + under_high * static_cast<float>(under_lines.size());
  Rect frame{area.x, top - canvas.px(4), area.w, area.bottom() - top + canvas.px(4) - foot};
  double w = frame.w / scale, h = frame.h / scale;
  if (w < 60 || h < 60) return out;

  auto& plan_view = state.plate.view;
  for (std::size_t i = 0; i < plan_view.places.size(); ++i)
    plan_view.places[i].chosen = canvas.chosen().station == state.plate.stations[i];
  for (std::size_t i = 0; i < plan_view.finds.size(); ++i)
    plan_view.finds[i].chosen = canvas.chosen().sample ==
                                plates::sample_name(view.picture->samples[state.plate.samples[i]]);

  charts::Viewport viewport = state.viewport.value_or(charts::fitted(plan_view, w, h));
  const Pointer& p = canvas.pointer();
  charts::Point at{(p.at.x - frame.x) / scale, (p.at.y - frame.y) / scale};
  bool over = p.over && frame.contains(p.at);
  auto move_to = [&](charts::Viewport to) { state.viewport = viewport = to; };
  auto pan = [&](double dx, double dy) {
    charts::Viewport to = viewport;
    to.centre.east -= dx * viewport.metres_per_pixel;
    to.centre.north += dy * viewport.metres_per_pixel;
    move_to(to);
  };
  if (over && p.wheel != 0)
    move_to(charts::zoomed(viewport, w, h, at, std::pow(zoom_step, p.wheel)));
  if (p.held && (p.moved.x != 0 || p.moved.y != 0)) pan(p.moved.x / scale, p.moved.y / scale);
  if (canvas.asked("ground.nearer"))
    move_to(charts::zoomed(viewport, w, h, {w / 2, h / 2}, zoom_step));
  if (canvas.asked("ground.farther"))
    move_to(charts::zoomed(viewport, w, h, {w / 2, h / 2}, 1 / zoom_step));
  if (canvas.asked("ground.left")) pan(pan_step, 0);
  if (canvas.asked("ground.right")) pan(-pan_step, 0);
  if (canvas.asked("ground.up")) pan(0, pan_step);
  if (canvas.asked("ground.down")) pan(0, -pan_step);
  if (canvas.asked("ground.party")) {
    for (const auto& place : plan_view.places)
      if (place.here) move_to({place.at, std::min(viewport.metres_per_pixel, 1.0)});
  }
  if (canvas.asked("ground.fit") || (over && p.twice)) {
    state.viewport.reset();
    viewport = charts::fitted(plan_view, w, h);
  }
  if (canvas.asked("ground.next") || canvas.asked("ground.previous")) {
    std::size_t n = state.plate.stations.size(), step = canvas.asked("ground.next") ? 1 : n - 1,
                chosen = canvas.asked("ground.next") ? n - 1 : 0;
    for (std::size_t i = 0; i < n; ++i)
      if (plan_view.places[i].chosen) chosen = i;
    Chosen to = canvas.chosen();
    to.station = state.plate.stations[(chosen + step) % n];
    out.push_back(ask::Choose{to});
  }

  charts::PlanChart plan = charts::plan_view(plan_view, w, h, viewport, measure_of(canvas.fonts()));
  paint(canvas, plan.chart, {frame.x, frame.y});

  if (over) {
    if (auto spot = charts::spot_at(plan, at)) {
      ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
      canvas.tip(frame, tip_text(state, *spot));
      if (p.pressed) {
        Chosen to = canvas.chosen();
        if (spot->kind == charts::PlanSpot::Kind::place) {
          to.station = state.plate.stations[spot->index];
        } else {
          const auto& sample = view.picture->samples[state.plate.samples[spot->index]];
          to.sample = plates::sample_name(sample);
          if (!sample.rock.empty()) to.rock = sample.rock;
        }
        out.push_back(ask::Choose{to});
      }
    }
  }

  if (foot > 0) {
    Rect whole{area.x, area.bottom() - foot, area.w, foot};
    float first =
        area.bottom() - canvas.px(3) - under_high * static_cast<float>(under_lines.size() - 1);
    canvas.paragraph({area.x, first}, {Type::fine}, Ink::soft, under, area.w);
    canvas.tip(whole, under_in_full);
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
