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
};

/// Reads the text of a plan file and does not stop at the first fault. parse_plan() is for those
/// who do.
PlanRead read_plan(std::string_view text);

}  // namespace stonecall::protocol
