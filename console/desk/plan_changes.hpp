#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "protocol/event.hpp"
#include "protocol/plan.hpp"

/// Changes of a plan during the exercise, in values and in words.
namespace stonecall::desk {

/// What an adviser wants otherwise; applied to whatever plan holds when it is posted.
struct PlanEdits {
  std::map<std::string, double> allotted;  ///< minutes by station, 0–1440
  std::map<std::string, int> number;       ///< wanted by rock, 0–1000; 0: no longer by name
  std::map<std::string, double> weight;    ///< worth of the first by rock, 0–1,000,000

  bool empty() const { return allotted.empty() && number.empty() && weight.empty(); }
  bool operator==(const PlanEdits&) const = default;
};

/// The plan with these edits. Stations and rocks that it does not list are passed over; a weight
/// alone makes no kind wanted. Newly wanted kinds stand at the end.
protocol::Plan with_edits(protocol::Plan plan, const PlanEdits& edits);

/// What is otherwise in the later plan, a part each: "Red Gully 40 → 55 min", "pumice wanted 1 →
/// 2", "obsidian no longer wanted". Empty: nothing.
std::vector<std::string> plan_changes(const protocol::Plan& before, const protocol::Plan& after);

/// What was made of a plan event: "Plan: Hallow Beck, run 2." or "Plan changed: Red Gully 40 → 55
/// min."
std::string plan_line_text(const protocol::PlanGiven& given, const protocol::EventPtr& replaced);

}  // namespace stonecall::desk
