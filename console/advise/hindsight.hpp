#pragma once

#include <optional>

#include "console/advise/allocation.hpp"
#include "console/advise/assessment.hpp"

namespace stonecall::advise {

/// When to leave the station where the party was, weighed with all that came to be known of the
/// ground and the pace later: shares and pace come from `known`, a picture that holds `then` and
/// more; station, time, bag and what is owed come from `then` and its assessment. Luck stays out:
/// it knows the ground, not which rock comes next. None: no plan, or the party was not at a
/// station.
std::optional<Departure> departure_in_hindsight(const picture::Picture& then,
                                                const Assessment& assessment,
                                                const picture::Picture& known, Memory& memory);

}  // namespace stonecall::advise
