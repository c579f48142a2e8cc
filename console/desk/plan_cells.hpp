#pragma once

#include <cstddef>
#include <string>

#include "console/desk/canvas.hpp"

/// The figures of the plan that can be changed: which one the keyboard is on, and what keys and
/// typing do to it.
namespace stonecall::desk {

struct PlanState;

/// Stations first, then kinds.
struct PlanRows {
  std::size_t stations = 0, kinds = 0;

  explicit PlanRows(const protocol::Plan& plan);
  std::size_t size() const { return stations + kinds; }
  std::size_t last() const { return size() == 0 ? 0 : size() - 1; }
  bool is_station(std::size_t row) const { return row < stations; }
};

/// "40", "2.5".
std::string number_text(double value);

/// How a kind is wanted; null: not by name.
const protocol::WantedKind* wanted_of(const protocol::Plan& plan, const std::string& rock);

/// Walks from figure to figure, steps, types, and posts the plan with its edits. `edited`: the plan
/// as it is shown, from which steps are made.
void answer_plan_keys(const protocol::Plan& given, const protocol::Plan& edited, PlanState& state,
                      const Canvas& canvas, Commands& out);

}  // namespace stonecall::desk
