#include "console/desk/plan_sheet.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <GLFW/glfw3.h>
#include <fmt/format.h>

#include "console/debrief/look_back.hpp"
#include "console/desk/sheet.hpp"

namespace stonecall::desk {
namespace {

using protocol::Plan;
using protocol::PlannedStation;
using protocol::WantedKind;

constexpr Font plan_font{Type::text};
constexpr Font name_font{Type::text, Weight::medium};
constexpr Font head_font{Type::fine};
constexpr double most_minutes = 1440, most_wanted = 1000, most_weight = 1'000'000;

/// Where the columns end, as parts of the width; the last begins there.
constexpr std::array ends{0.34F, 0.43F, 0.53F, 0.62F};
constexpr float rest_from = 0.65F;

struct Rows {
  std::size_t stations = 0, kinds = 0;
  std::size_t size() const { return stations + kinds; }
};

std::string number_text(double value) {
  return fmt::format("{:g}", value);
}

const WantedKind* wanted_of(const Plan& plan, const std::string& rock) {
  auto found = std::ranges::find(plan.wanted, rock, &WantedKind::rock);
  return found == plan.wanted.end() ? nullptr : &*found;
}

/// The cell that the keyboard is on: what stands there and what may.
struct Cell {
  double value = 0, most = 0, step = 1;
  bool whole = false;
};

Cell cell_at(const Plan& plan, const Rows& rows, const PlanState& state) {
  if (state.row < rows.stations)
    return {plan.stations[state.row].allotted_minutes, most_minutes, 5, false};
  const WantedKind* wanted = wanted_of(plan, plan.vocabulary[state.row - rows.stations].rock);
  if (state.column == 0)
    return {wanted ? static_cast<double>(wanted->number) : 0, most_wanted, 1, true};
  return {wanted ? wanted->weight : WantedKind{}.weight, most_weight, 0.5, false};
}

/// Sets the cell; what the plan says anyway is no edit.
void set_cell(const Plan& given, const Rows& rows, PlanState& state, double value) {
  auto put = [](auto& edits, const std::string& name, auto now, auto was) {
    if (now == was)
      edits.erase(name);
    else
      edits[name] = now;
  };
  if (state.row < rows.stations) {
    const PlannedStation& station = given.stations[state.row];
    put(state.edits.allotted, station.station, value, station.allotted_minutes);
    return;
  }
  const std::string& rock = given.vocabulary[state.row - rows.stations].rock;
  const WantedKind* wanted = wanted_of(given, rock);
  if (state.column == 0)
    put(state.edits.number, rock, static_cast<int>(value), wanted ? wanted->number : 0);
  else
    put(state.edits.weight, rock, value, wanted ? wanted->weight : WantedKind{}.weight);
}

std::optional<double> number_in(const std::string& text) {
  std::string_view s = text;
  while (!s.empty() && s.front() == ' ') s.remove_prefix(1);
  while (!s.empty() && s.back() == ' ') s.remove_suffix(1);
  double value = 0;
  auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), value);
  if (error != std::errc{} || end != s.data() + s.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

void take_typed(const Plan& given, const Rows& rows, PlanState& state, const Cell& cell) {
  auto value = number_in(state.typed);
  if (!value || *value < 0 || *value > cell.most || (cell.whole && *value != std::floor(*value))) {
    state.fault =
        fmt::format("{} from 0 to {:g}", cell.whole ? "a whole number" : "a number", cell.most);
    return;
  }
  set_cell(given, rows, state, *value);
  state.typing = false;
  state.fault.clear();
}

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

/// Draws the table of one row kind.
struct Table {
  Canvas& canvas;
  const PlanState& state;
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

  float baseline(float y) const {
    return y + std::round((pitch + canvas.fonts().cap_height(Type::text)) / 2);
  }
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

}  // namespace

std::string plan_line_text(const protocol::PlanGiven& given, const protocol::EventPtr& replaced) {
  const auto* before = replaced ? std::get_if<protocol::PlanGiven>(&replaced->body) : nullptr;
  if (!before) return "Plan: " + given.plan->name + ".";
  std::string text;
  for (const std::string& change : plan_changes(*before->plan, *given.plan))
    text += (text.empty() ? "Plan changed: " : "; ") + change;
  return text.empty() ? "Plan given again, the same." : text + ".";
}

Commands draw_plan(const View& view, PlanState& state, Canvas& canvas) {
  Commands out;
  const Fonts& f = canvas.fonts();
  const Plan* given = view.plan();
  if (!given) {
    Rect inner = lay_sheet(canvas, 480, 130);
    float y = sheet_title(canvas, inner, "Plan", "Esc leaves");
    canvas.paragraph({inner.x, y + canvas.px(16)}, plan_font, Ink::soft,
                     "No plan has been given yet.", inner.w);
    if (canvas.asked("plan.leave")) out.push_back(ask::CloseSheet{});
    return out;
  }
  const Plan plan = with_edits(*given, state.edits);
  const Rows rows{plan.stations.size(), plan.vocabulary.size()};
  const auto history = plan_history(*view.picture, 4);

  if (canvas.asked("plan.leave")) {
    if (state.typing) {
      state.typing = false;
      state.fault.clear();
    } else if (!state.edits.empty()) {
      state.edits = {};
    } else {
      out.push_back(ask::CloseSheet{});
    }
  }
  state.row = std::min(state.row, rows.size() == 0 ? 0 : rows.size() - 1);
  if (state.row < rows.stations) state.column = 0;
  auto act = [&] {
    auto moved = [&](auto&& move) {
      if (state.typing) take_typed(*given, rows, state, cell_at(plan, rows, state));
      if (!state.typing) move();
    };
    if (canvas.asked("plan.down"))
      moved(
          [&] { state.row = std::min(state.row + 1, std::max<std::size_t>(1, rows.size()) - 1); });
    if (canvas.asked("plan.up")) moved([&] { state.row -= std::min<std::size_t>(state.row, 1); });
    if (canvas.asked("plan.right") && state.row >= rows.stations) state.column = 1;
    if (canvas.asked("plan.left")) state.column = 0;
    if (state.row < rows.stations) state.column = 0;
    if (rows.size() > 0) {
      const Cell cell = cell_at(plan, rows, state);
      if (canvas.asked("plan.more"))
        set_cell(*given, rows, state, std::min(cell.most, cell.value + cell.step));
      if (canvas.asked("plan.less"))
        set_cell(*given, rows, state, std::max(0.0, cell.value - cell.step));
      if (canvas.asked("plan.type")) {
        if (state.typing) {
          take_typed(*given, rows, state, cell);
        } else {
          state.typing = state.take_keyboard = true;
          state.typed = number_text(cell.value);
          state.fault.clear();
        }
      }
    }
    if (canvas.asked("plan.post")) {
      if (state.typing) take_typed(*given, rows, state, cell_at(plan, rows, state));
      Plan next = with_edits(*given, state.edits);
      auto checked = protocol::plan_from_json(protocol::to_json(next));
      if (!checked) {
        state.fault = protocol::to_string(checked.error());
      } else if (!state.typing) {
        if (next != *given) out.push_back(ask::Post{protocol::PlanGiven{std::move(next)}, {}});
        state.edits = {};
      }
    }
  };
  // What stands in an open cell is known once it was drawn: letters and Enter may come in one
  // frame.
  const bool was_typing = state.typing;
  if (!was_typing) act();
  // What the keys did is shown at once.
  const Plan shown = with_edits(*given, state.edits);

  const float pitch = canvas.px(22);
  const float head = pitch + canvas.px(6), gap = canvas.px(18);
  constexpr float title_high = 44, foot_high = 26;
  float history_high = history.empty() ? 0 : 24 + 20 * static_cast<float>(history.size());
  float wanted_high = 36 + title_high + 2 * 28 + 18 + 22 * static_cast<float>(rows.size()) +
                      history_high + foot_high;
  Rect inner = lay_sheet(canvas, 980, wanted_high);
  auto changes = plan_changes(*given, shown);
  std::string aside =
      changes.empty()
          ? fmt::format("back at base by {}",
                        canvas.clock().minutes(given->start.instant +
                                               protocol::from_minutes(given->duration_minutes)))
          : fmt::format("{} not posted yet", changes.size());
  float y = sheet_title(canvas, inner, "Plan: " + given->name, aside);

  float foot = inner.bottom() - canvas.px(foot_high);
  float least = head * 2 + pitch * 2;
  float history_top = foot - canvas.px(history_high);
  bool show_history = history_top - y >= least + pitch * 2;
  float bottom = show_history ? history_top : foot;
  auto fit = static_cast<std::size_t>(std::max(1.0F, (bottom - y - 2 * head - gap) / pitch));
  state.first = first_shown(state.first, state.row, rows.size(), fit);
  const std::size_t last = std::min(rows.size(), state.first + fit);

  Table table{canvas, state, inner, pitch};
  if (state.planned_in != view.picture || state.planned_with != state.edits) {
    state.planned_in = view.picture;
    state.planned_with = state.edits;
    state.planned = debrief::planned_arrivals(shown);
  }
  bool stations_headed = false, kinds_headed = false;
  for (std::size_t i = state.first; i < last; ++i) {
    const bool is_station = i < rows.stations;
    if (is_station && !std::exchange(stations_headed, true)) {
      table.head(y, "Stations", {"planned", "arrived", "allotted", "stayed"}, "expected");
      y += head;
    }
    if (!is_station && !std::exchange(kinds_headed, true)) {
      if (stations_headed) y += gap;
      table.head(y, "Kinds", {"", "bagged", "wanted", "weight"}, "expected at");
      y += head;
    }
    Rect row{inner.x, y, inner.w, pitch};
    const std::size_t cell_column = is_station ? 2 : 2 + (i == state.row ? state.column : 0);
    if (i == state.row) {
      canvas.fill({row.x - canvas.px(6), row.y, row.w + canvas.px(12), row.h}, Ink::chosen,
                  canvas.px(3));
    }
    float name_room = table.end(0) - canvas.px(54) - inner.x;
    float base = table.baseline(y);
    if (is_station) {
      const PlannedStation& station = shown.stations[i];
      canvas.text({inner.x, base}, name_font, Ink::ink,
                  ellipsis(f, name_font, station.station, name_room));
      table.figure(0, y, canvas.clock().minutes(shown.start.instant + state.planned[i]), false,
                   Ink::soft);
      auto visit = std::ranges::find_if(view.picture->visits, [&](const picture::Visit& each) {
        return each.station == station.station && each.arrived <= view.now;
      });
      const bool met = visit != view.picture->visits.end();
      table.figure(1, y, met ? canvas.clock().minutes(visit->arrived) : "–", false, Ink::soft);
      const std::string_view unit = inner.w < canvas.px(700) ? "" : " min";
      table.figure(2, y, number_text(station.allotted_minutes) + std::string(unit),
                   state.edits.allotted.contains(station.station), Ink::ink);
      auto stayed = picture::time_at(*view.picture, station.station, view.now);
      double minutes = protocol::in_minutes(stayed);
      table.figure(3, y, met ? fmt::format("{:.0f}{}", minutes, unit) : "–",
                   minutes > station.allotted_minutes, Ink::ink);
      table.rest(y, expected_text(station));
    } else {
      const std::string& rock = shown.vocabulary[i - rows.stations].rock;
      const WantedKind* wanted = wanted_of(shown, rock);
      canvas.glyph({inner.x + canvas.px(7), y + std::round(pitch / 2)}, canvas.px(11),
                   kind_ink(canvas.theme(), i - rows.stations));
      canvas.text({inner.x + canvas.px(24), base}, name_font, wanted ? Ink::ink : Ink::soft,
                  ellipsis(f, name_font, rock, table.end(0) - inner.x - canvas.px(24)));
      auto bagged = std::ranges::count_if(view.picture->samples, [&](const picture::Sample& each) {
        return each.taken && each.rock == rock && each.first <= view.now;
      });
      table.figure(1, y, std::to_string(bagged), false, bagged > 0 ? Ink::ink : Ink::soft);
      table.figure(2, y, wanted ? std::to_string(wanted->number) : "–",
                   state.edits.number.contains(rock), Ink::ink);
      table.figure(3, y, wanted ? number_text(wanted->weight) : "–",
                   wanted && state.edits.weight.contains(rock), Ink::ink);
      table.rest(y, expected_at(shown, rock));
    }
    if (i == state.row) {
      Rect cell = table.cell(cell_column, y);
      if (state.typing) {
        canvas.fill(cell, Ink::ground);
        auto typed = canvas.field("cell", cell.inset(canvas.px(4), 0), state.typed, "", plan_font,
                                  {.take_keyboard = state.take_keyboard, .select_all = true});
        if (typed.active) state.take_keyboard = false;
      }
      canvas.outline(cell, Ink::focus, canvas.px(2), std::max(1.0F, f.scale()));
    }
    if (canvas.press("row", row) && !state.typing) {
      state.row = i;
      state.column = !is_station && canvas.pointer().at.x > table.end(2) + canvas.px(6) ? 1 : 0;
    }
    y += pitch;
  }
  if (was_typing) act();
  if (!state.typing) state.take_keyboard = false;
  if (canvas.pointer().over && canvas.pointer().wheel != 0 && !state.typing) {
    if (canvas.pointer().wheel < 0)
      state.row = std::min(state.row + 1, std::max<std::size_t>(1, rows.size()) - 1);
    else
      state.row -= std::min<std::size_t>(state.row, 1);
  }

  if (show_history && !history.empty()) {
    y = history_top;
    canvas.rule(inner.x, inner.right(), y + canvas.px(2));
    y += canvas.px(20);
    float text_x = inner.x + f.figures_width(head_font, "00:00:00") + canvas.px(12);
    for (const HistoryLine& line : history) {
      canvas.figures({inner.x, y}, head_font, Ink::soft, canvas.clock().seconds(line.at));
      canvas.text({text_x, y}, head_font, Ink::ink,
                  ellipsis(f, head_font, line.text, inner.right() - text_x));
      y += canvas.px(20);
    }
  }
  float base = inner.bottom() - canvas.px(4);
  std::string hint = !state.fault.empty() ? state.fault
                     : state.typing       ? "Enter takes the figure    Esc leaves it"
                     : changes.empty()    ? "Enter types a figure    + − step    Esc leaves"
                                          : "Ctrl+Enter posts the changes    Esc drops them";
  float counted = 0;
  if (rows.size() > fit)
    counted =
        canvas.text({inner.right(), base}, head_font, Ink::soft,
                    fmt::format("{}–{} of {}", state.first + 1, last, rows.size()), Align::right) +
        canvas.px(12);
  canvas.text({inner.x, base}, head_font, state.fault.empty() ? Ink::soft : Ink::rust,
              ellipsis(f, head_font, hint, inner.w - counted));
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
