#include "console/desk/plan_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/debrief/look_back.hpp"
#include "console/desk/plan_cells.hpp"
#include "console/desk/sheet.hpp"

namespace stonecall::desk {
namespace {

using protocol::Plan;
using protocol::PlannedStation;
using protocol::WantedKind;

constexpr Font plan_font{Type::text};
constexpr Font name_font{Type::text, Weight::medium};
constexpr Font head_font{Type::fine};

/// Where the columns end, as parts of the width; the last begins there.
constexpr std::array ends{0.34F, 0.43F, 0.53F, 0.62F};
constexpr float rest_from = 0.65F;
// Heights in design pixels.
constexpr float row_high = 22, head_high = row_high + 6, part_gap = 18;
constexpr float history_head = 24, history_line = 20, foot_high = 26;

std::string expected_text(const PlannedStation& station) {
  std::string text;
  for (const auto& each : station.expected)
    text += fmt::format("{}{} {:g} %", text.empty() ? "" : ", ", each.rock, each.percent);
  return text.empty() ? "nothing expected by name" : text;
}

std::string expected_at(const Plan& plan, const std::string& rock) {
  std::string text;
  for (const auto& station : plan.stations)
    for (const auto& each : station.expected)
      if (each.rock == rock)
        text += fmt::format("{}{} {:g} %", text.empty() ? "" : ", ", station.station, each.percent);
  return text;
}

struct HistoryLine {
  protocol::Instant at{};
  std::string text;
};

/// Plans so far, newest first, at most `most`.
std::vector<HistoryLine> plan_history(const picture::Picture& picture, std::size_t most) {
  std::vector<HistoryLine> lines;
  for (auto line = picture.heard.rbegin(); line != picture.heard.rend() && lines.size() < most;
       ++line) {
    const auto* given = std::get_if<protocol::PlanGiven>(&line->event->body);
    if (!given) continue;
    std::string text = line->event->from + ": " + plan_line_text(*given, line->replaced);
    if (line->retracted) text += " Taken back.";
    lines.push_back({line->event->at.instant, std::move(text)});
  }
  return lines;
}

/// The columns of the sheet.
struct PlanTable {
  Canvas& canvas;
  Rect inner;
  float pitch;

  float end(std::size_t column) const { return inner.x + std::round(inner.w * ends[column]); }

  void head(float y, std::string_view first, const std::array<std::string_view, 4>& columns,
            std::string_view last) const {
    float baseline = y + canvas.px(14);
    canvas.text({inner.x, baseline}, {Type::fine, Weight::semibold}, Ink::ink, first);
    for (std::size_t i = 0; i < columns.size(); ++i)
      canvas.text({end(i), baseline}, head_font, Ink::soft, columns[i], Align::right);
    float from = inner.x + std::round(inner.w * rest_from);
    canvas.text({from, baseline}, head_font, Ink::soft,
                ellipsis(canvas.fonts(), head_font, last, inner.right() - from));
    canvas.rule(inner.x, inner.right(), y + pitch - canvas.px(1));
  }

  float baseline(float y) const { return canvas.baseline_in(y, pitch, Type::text); }
  Rect cell(std::size_t column, float y) const {
    float left = column == 0 ? end(0) - canvas.px(54) : end(column - 1) + canvas.px(6);
    return {left, y + canvas.px(1), end(column) + canvas.px(6) - left, pitch - canvas.px(2)};
  }
  void figure(std::size_t column, float y, std::string_view text, bool edited, Ink ink) const {
    canvas.figures({end(column), baseline(y)},
                   {Type::text, edited ? Weight::semibold : Weight::regular},
                   edited ? Ink::rust : ink, text, Align::right);
  }
  void rest(float y, std::string_view text) const {
    float from = inner.x + std::round(inner.w * rest_from);
    Font font{Type::fine};
    std::string shown = ellipsis(canvas.fonts(), font, text, inner.right() - from);
    canvas.text({from, baseline(y)}, font, Ink::soft, shown);
    if (shown != text) canvas.tip({from, y, inner.right() - from, pitch}, text);
  }
};

/// A station with its planned and its true times.
void draw_station(const View& view, const PlanTable& table, const PlanState& state,
                  const PlannedStation& station, protocol::Instant planned, float y) {
  Canvas& canvas = table.canvas;
  canvas.text({table.inner.x, table.baseline(y)}, name_font, Ink::ink,
              ellipsis(canvas.fonts(), name_font, station.station,
                       table.end(0) - canvas.px(54) - table.inner.x));
  table.figure(0, y, canvas.clock().minutes(planned), false, Ink::soft);
  const auto& visits = view.picture->visits;
  const auto visit = std::ranges::find_if(visits, [&](const picture::Visit& each) {
    return each.station == station.station && each.arrived <= view.now;
  });
  const bool met = visit != visits.end();
  table.figure(1, y, met ? canvas.clock().minutes((*visit).arrived) : "–", false, Ink::soft);
  const std::string_view unit = table.inner.w < canvas.px(700) ? "" : " min";
  table.figure(2, y, number_text(station.allotted_minutes) + std::string(unit),
               state.edits.allotted.contains(station.station), Ink::ink);
  const double minutes =
      protocol::in_minutes(picture::time_at(*view.picture, station.station, view.now));
  table.figure(3, y, met ? fmt::format("{:.0f}{}", minutes, unit) : "–",
               minutes > station.allotted_minutes, Ink::ink);
  table.rest(y, expected_text(station));
}

/// A kind of the vocabulary with how it is wanted.
void draw_wanted(const View& view, const PlanTable& table, const PlanState& state, const Plan& plan,
                 std::size_t kind, float y) {
  Canvas& canvas = table.canvas;
  const std::string& rock = plan.vocabulary[kind].rock;
  const WantedKind* wanted = wanted_of(plan, rock);
  const float x = table.inner.x, name_x = canvas.px(24);
  canvas.glyph({x + canvas.px(7), y + std::round(table.pitch / 2)}, canvas.px(11),
               kind_ink(canvas.theme(), kind));
  canvas.text({x + name_x, table.baseline(y)}, name_font, wanted ? Ink::ink : Ink::soft,
              ellipsis(canvas.fonts(), name_font, rock, table.end(0) - x - name_x));
  const auto bagged =
      std::ranges::count_if(view.picture->samples, [&](const picture::Sample& each) {
        return each.taken && each.rock == rock && each.first <= view.now;
      });
  table.figure(1, y, std::to_string(bagged), false, bagged > 0 ? Ink::ink : Ink::soft);
  table.figure(2, y, wanted ? std::to_string(wanted->number) : "–",
               state.edits.number.contains(rock), Ink::ink);
  table.figure(3, y, wanted ? number_text(wanted->weight) : "–",
               wanted && state.edits.weight.contains(rock), Ink::ink);
  table.rest(y, expected_at(plan, rock));
}

/// Around the figure that the keyboard is on; open, to be typed in.
void draw_cell(const PlanTable& table, PlanState& state, std::size_t column, float y) {
  Canvas& canvas = table.canvas;
  const Rect cell = table.cell(column, y);
  if (state.typing) {
    canvas.fill(cell, Ink::ground);
    const auto typed = canvas.field("cell", cell.inset(canvas.px(4), 0), state.typed, "", plan_font,
                                    {.take_keyboard = state.take_keyboard, .select_all = true});
    if (typed.active) state.take_keyboard = false;
  }
  canvas.outline(cell, Ink::focus, canvas.px(2), std::max(1.0F, canvas.fonts().scale()));
}

void draw_plan_row(const View& view, const PlanTable& table, PlanState& state, const Plan& plan,
                   std::size_t i, float y) {
  Canvas& canvas = table.canvas;
  const std::size_t stations = plan.stations.size();
  const bool is_station = i < stations, here = i == state.row;
  const Rect row{table.inner.x, y, table.inner.w, table.pitch};
  // Of a station what is allotted, of a kind the number or the weight.
  const std::size_t cell_column = is_station || !here ? 2 : 2 + state.column;
  if (here) canvas.chosen_ground(row);
  if (is_station)
    draw_station(view, table, state, plan.stations[i], plan.start.instant + state.planned[i], y);
  else
    draw_wanted(view, table, state, plan, i - stations, y);
  if (here) draw_cell(table, state, cell_column, y);
  if (canvas.press("row", row) && !state.typing) {
    state.row = i;
    state.column = !is_station && canvas.pointer().at.x > table.end(2) + canvas.px(6) ? 1 : 0;
  }
}

/// The rows [first, last), each kind of them below its heads.
void draw_plan_rows(const View& view, const PlanTable& table, PlanState& state, const Plan& plan,
                    std::size_t last, float y) {
  const float head = table.canvas.px(row_high) + table.canvas.px(6);
  const std::size_t stations = plan.stations.size();
  for (std::size_t i = state.first; i < last; ++i) {
    if (i == state.first && i < stations) {
      table.head(y, "Stations", {"planned", "arrived", "allotted", "stayed"}, "expected");
      y += head;
    }
    if (i == std::max(state.first, stations)) {
      if (i > state.first) y += table.canvas.px(part_gap);
      table.head(y, "Kinds", {"", "bagged", "wanted", "weight"}, "expected at");
      y += head;
    }
    draw_plan_row(view, table, state, plan, i, y);
    y += table.pitch;
  }
}

void draw_history(const std::vector<HistoryLine>& history, const Rect& inner, Canvas& canvas,
                  float top) {
  canvas.rule(inner.x, inner.right(), top + canvas.px(2));
  const Fonts& f = canvas.fonts();
  const float x = inner.x + f.figures_width(head_font, "00:00:00") + canvas.px(12);
  float y = top + canvas.px(history_line);
  for (const HistoryLine& line : history) {
    canvas.figures({inner.x, y}, head_font, Ink::soft, canvas.clock().seconds(line.at));
    canvas.text({x, y}, head_font, Ink::ink, ellipsis(f, head_font, line.text, inner.right() - x));
    y += canvas.px(history_line);
  }
}

/// What the keys do, or why what was typed cannot stand; which rows are in sight, where not all.
void draw_plan_foot(const PlanState& state, bool changed, std::size_t last, std::size_t rows,
                    const Rect& inner, Canvas& canvas) {
  const float baseline = inner.bottom() - canvas.px(4);
  const std::string hint = !state.fault.empty() ? state.fault
                           : state.typing       ? "Enter takes the figure    Esc leaves it"
                           : !changed           ? "Enter types a figure    + − step    Esc leaves"
                                                : "Ctrl+Enter posts the changes    Esc drops them";
  float room = inner.w;
  if (last - state.first < rows)
    room -= canvas.text({inner.right(), baseline}, head_font, Ink::soft,
                        fmt::format("{}–{} of {}", state.first + 1, last, rows), Align::right) +
            canvas.px(12);
  canvas.text({inner.x, baseline}, head_font, state.fault.empty() ? Ink::soft : Ink::rust,
              ellipsis(canvas.fonts(), head_font, hint, room));
}

void draw_no_plan(Canvas& canvas) {
  const Rect inner = lay_sheet(canvas, 480, 130);
  const float y = sheet_title(canvas, inner, "Plan", "Esc leaves");
  canvas.paragraph({inner.x, y + canvas.px(16)}, plan_font, Ink::soft,
                   "No plan has been given yet.", inner.w);
}

/// Out of the cell, then of the edits, then of the sheet.
void leave(PlanState& state, Commands& out) {
  if (state.typing) {
    state.typing = false;
    state.fault.clear();
  } else if (!state.edits.empty()) {
    state.edits = {};
  } else {
    out.push_back(ask::CloseSheet{});
  }
}

std::string plan_aside(const Plan& given, std::size_t changes, const ClockText& clock) {
  if (changes > 0) return fmt::format("{} not posted yet", changes);
  return fmt::format(
      "back at base by {}",
      clock.minutes(given.start.instant + protocol::from_minutes(given.duration_minutes)));
}

/// Worked out once a change.
void follow_planned(const View& view, const Plan& shown, PlanState& state) {
  if (state.planned_in == view.picture && state.planned_with == state.edits) return;
  state.planned_in = view.picture;
  state.planned_with = state.edits;
  state.planned = debrief::planned_arrivals(shown);
}

void turn_plan_wheel(const PlanRows& rows, PlanState& state, const Canvas& canvas) {
  if (!canvas.pointer().over || canvas.pointer().wheel == 0 || state.typing) return;
  if (canvas.pointer().wheel < 0)
    state.row = std::min(state.row + 1, rows.last());
  else
    state.row -= std::min<std::size_t>(state.row, 1);
}

}  // namespace

Commands draw_plan(const View& view, PlanState& state, Canvas& canvas) {
  Commands out;
  const Plan* given = view.plan();
  if (!given) {
    draw_no_plan(canvas);
    if (canvas.asked("plan.leave")) out.push_back(ask::CloseSheet{});
    return out;
  }
  const Plan edited = with_edits(*given, state.edits);
  const PlanRows rows(edited);
  const auto history = plan_history(*view.picture, 4);
  if (canvas.asked("plan.leave")) leave(state, out);
  state.row = std::min(state.row, rows.last());
  if (rows.is_station(state.row)) state.column = 0;
  // What stands in an open cell is known once it was drawn: letters and Enter may come in one
  // frame.
  const bool was_typing = state.typing;
  if (!was_typing) answer_plan_keys(*given, edited, state, canvas, out);
  // What the keys did is shown at once.
  const Plan shown = with_edits(*given, state.edits);
  const auto changes = plan_changes(*given, shown);
  follow_planned(view, shown, state);

  const float pitch = canvas.px(row_high), head = pitch + canvas.px(6), gap = canvas.px(part_gap);
  const float history_high =
      history.empty() ? 0 : history_head + history_line * static_cast<float>(history.size());
  constexpr float margins = 36, title_high = 44;
  const Rect inner =
      lay_sheet(canvas, 980,
                margins + title_high + 2 * head_high + part_gap +
                    row_high * static_cast<float>(rows.size()) + history_high + foot_high);
  const float top = sheet_title(canvas, inner, "Plan: " + given->name,
                                plan_aside(*given, changes.size(), canvas.clock()));
  const float foot = inner.bottom() - canvas.px(foot_high);
  const float history_top = foot - canvas.px(history_high);
  const bool shows_history = history_top - top >= 2 * head + 4 * pitch;
  const float room = (shows_history ? history_top : foot) - top - 2 * head - gap;
  const auto fit = static_cast<std::size_t>(std::max(1.0F, room / pitch));
  state.first = first_shown(state.first, state.row, rows.size(), fit);
  const std::size_t last = std::min(rows.size(), state.first + fit);

  draw_plan_rows(view, {canvas, inner, pitch}, state, shown, last, top);
  if (was_typing) answer_plan_keys(*given, edited, state, canvas, out);
  if (!state.typing) state.take_keyboard = false;
  turn_plan_wheel(rows, state, canvas);
  if (shows_history && !history.empty()) draw_history(history, inner, canvas, history_top);
  draw_plan_foot(state, !changes.empty(), last, rows.size(), inner, canvas);
  return out;
}

std::span<const KeyLine> plan_keys() {
  constexpr auto here = RegionId::plan;
  static const std::vector<KeyLine> lines{
      {"plan.up", "row before", {{GLFW_KEY_UP, 0}}, here, true},
      {"plan.down", "row after", {{GLFW_KEY_DOWN, 0}}, here, true},
      {"plan.left", "number wanted of the kind", {{GLFW_KEY_LEFT, 0}}, here},
      {"plan.right", "weight of the kind", {{GLFW_KEY_RIGHT, 0}}, here},
      {"plan.more",
       "more: five minutes, one more",
       {{GLFW_KEY_EQUAL, 0}, {GLFW_KEY_KP_ADD, 0}, {GLFW_KEY_EQUAL, GLFW_MOD_SHIFT}},
       here},
      {"plan.less", "less", {{GLFW_KEY_MINUS, 0}, {GLFW_KEY_KP_SUBTRACT, 0}}, here},
      {"plan.type",
       "type the figure, take what is typed",
       {{GLFW_KEY_ENTER, 0}, {GLFW_KEY_KP_ENTER, 0}},
       here,
       true},
      {"plan.post",
       "post the changes as a new plan",
       {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}},
       here,
       true},
      {"plan.leave", "drop what is not posted; leave", {{GLFW_KEY_ESCAPE, 0}}, here, true},
  };
  return lines;
}

}  // namespace stonecall::desk
