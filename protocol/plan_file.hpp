#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "protocol/plan.hpp"

namespace stonecall::protocol {

/// What became of the text of a plan file.
struct PlanRead {
  std::optional<Plan> plan;   ///< none where there are faults
  std::vector<Fault> faults;  ///< all that is wrong, by line
  /// Members that mean nothing in a plan, by line. They are kept; but what was meant by one that is
  /// misspelt does not hold.
  std::vector<Fault> unheeded;
};

/// Reads the text of a plan file and does not stop at the first fault. parse_plan() is for those
/// who do.
PlanRead read_plan(std::string_view text);

}  // namespace stonecall::protocol
