#pragma once

#include <string>

#include "console/debrief/look_back.hpp"
#include "protocol/fault.hpp"

namespace stonecall::debrief {

/// Two runs of one plan on one page of the report's look: figures, hours, ground, kinds, calls. The
/// fault says why they are not runs of one plan: none of either, another name, other stations.
protocol::Result<std::string> side_by_side(const Debrief& first, const Debrief& second);

}  // namespace stonecall::debrief
