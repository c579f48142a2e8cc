#pragma once

#include <optional>

#include "console/advise/assessment.hpp"
#include "console/estimate/basis.hpp"

namespace stonecall::advise {

/// From rocks counted of each kind; what depends on the pace is left at 0. None: nothing counted,
/// or one rock, which says nothing of the next.
std::optional<NotSeenYet> not_seen_yet(estimate::Counts counts);

}  // namespace stonecall::advise
