#pragma once

#include <optional>

#include "console/advise/assessment.hpp"
#include "console/charts/curves.hpp"

namespace stonecall::plates {

/// Gain per minute here against elsewhere, with their crossing; none where the advice brings no
/// curve. Minutes on the axis are elapsed.
std::optional<charts::Crossing> advice_plate(const advise::Advice& advice,
                                             protocol::Milliseconds now_elapsed);

}  // namespace stonecall::plates
