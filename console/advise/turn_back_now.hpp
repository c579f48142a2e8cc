#pragma once

#include <optional>

#include "console/advise/assessment.hpp"
#include "console/picture/picture.hpp"

namespace stonecall::advise {

/// When the party must turn back, from where it is now or, while it walks, from the farthest place
/// where by what is known it may be. None: no plan, before the first arrival, back at base, or a
/// way that can not be reckoned.
std::optional<TurnBack> turn_back_at(const picture::Picture& picture, protocol::Instant now);

}  // namespace stonecall::advise
