#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "protocol/fault.hpp"
#include "protocol/plan.hpp"

namespace stonecall::debrief {

/// What the ground of a station is truly made of; known of made-up exercises only.
struct StationTruth {
  std::string station;
  std::vector<protocol::ExpectedShare> shares;  ///< percent, the commonest first
  bool operator==(const StationTruth&) const = default;
};

/// JSON: a list of objects {"station", "shares": [{"rock", "percent"}]}.
std::string to_text(const std::vector<StationTruth>& truth);
/// Faults name the member that is wrong.
protocol::Result<std::vector<StationTruth>> parse_truth(std::string_view text);

}  // namespace stonecall::debrief
