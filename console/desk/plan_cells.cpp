#include "console/desk/plan_cells.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "console/desk/plan_sheet.hpp"

namespace stonecall::desk {
namespace {

using protocol::Plan;
using protocol::PlannedStation;
using protocol::WantedKind;

constexpr double most_minutes = 1440, most_wanted = 1000, most_weight = 1'000'000;

/// The cell that the keyboard is on: what stands there and what may.
struct PlanCell {
  double value = 0, most = 0, step = 1;
  bool whole = false;
};

PlanCell cell_at(const Plan& plan, const PlanRows& rows, const PlanState& state) {
  if (rows.is_station(state.row))
    return {plan.stations[state.row].allotted_minutes, most_minutes, 5, false};
  const WantedKind* wanted = wanted_of(plan, plan.vocabulary[state.row - rows.stations].rock);
  if (state.column == 0)
    return {wanted ? static_cast<double>(wanted->number) : 0, most_wanted, 1, true};
  return {wanted ? wanted->weight : WantedKind{}.weight, most_weight, 0.5, false};
}

/// Sets the cell; what the plan says anyway is no edit.
void set_cell(const Plan& given, const PlanRows& rows, PlanState& state, double value) {
  auto put = [](auto& edits, const std::string& name, auto now, auto was) {
    if (now == was)
      edits.erase(name);
    else
      edits[name] = now;
  };
  if (rows.is_station(state.row)) {
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

void take_typed(const Plan& given, const PlanRows& rows, PlanState& state, const PlanCell& cell) {
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

/// Another figure, once what is typed in this one stands.
void walk_cells(const Plan& given, const Plan& edited, const PlanRows& rows, PlanState& state,
                const Canvas& canvas) {
  const auto may_leave = [&] {
    if (state.typing) take_typed(given, rows, state, cell_at(edited, rows, state));
    return !state.typing;
  };
  if (canvas.asked("plan.down") && may_leave()) state.row = std::min(state.row + 1, rows.last());
  if (canvas.asked("plan.up") && may_leave()) state.row -= std::min<std::size_t>(state.row, 1);
  if (canvas.asked("plan.right")) state.column = 1;
  if (canvas.asked("plan.left")) state.column = 0;
  if (rows.is_station(state.row)) state.column = 0;
}

void change_cell(const Plan& given, const PlanRows& rows, const PlanCell& cell, PlanState& state,
                 const Canvas& canvas) {
  if (canvas.asked("plan.more"))
    set_cell(given, rows, state, std::min(cell.most, cell.value + cell.step));
  if (canvas.asked("plan.less"))
    set_cell(given, rows, state, std::max(0.0, cell.value - cell.step));
  if (!canvas.asked("plan.type")) return;
  if (state.typing) {
    take_typed(given, rows, state, cell);
  } else {
    state.typing = state.take_keyboard = true;
    state.typed = number_text(cell.value);
    state.fault.clear();
  }
}

void post_plan(const Plan& given, PlanState& state, Commands& out) {
  Plan next = with_edits(given, state.edits);
  const auto checked = protocol::plan_from_json(protocol::to_json(next));
  if (!checked) {
    state.fault = protocol::to_string(checked.error());
  } else if (!state.typing) {
    if (next != given) out.push_back(ask::Post{protocol::PlanGiven{std::move(next)}, {}});
    state.edits = {};
  }
}

}  // namespace

PlanRows::PlanRows(const Plan& plan)
    : stations(plan.stations.size()), kinds(plan.vocabulary.size()) {}

std::string number_text(double value) {
  return fmt::format("{:g}", value);
}

const WantedKind* wanted_of(const Plan& plan, const std::string& rock) {
  auto found = std::ranges::find(plan.wanted, rock, &WantedKind::rock);
  return found == plan.wanted.end() ? nullptr : &*found;
}

void answer_plan_keys(const Plan& given, const Plan& edited, PlanState& state, const Canvas& canvas,
                      Commands& out) {
  const PlanRows rows(given);
  walk_cells(given, edited, rows, state, canvas);
  if (rows.size() > 0) change_cell(given, rows, cell_at(edited, rows, state), state, canvas);
  if (!canvas.asked("plan.post")) return;
  if (state.typing) take_typed(given, rows, state, cell_at(edited, rows, state));
  post_plan(given, state, out);
}

}  // namespace stonecall::desk
