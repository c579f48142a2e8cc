#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/picture/picture.hpp"

/// A chance is stated as a call to nobody, with its outcome in words; what came of it is said
/// afterwards, as a remark about it.
namespace stonecall::debrief {

/// What was said last of how it came out; none: nobody has said.
std::optional<bool> outcome_of(const picture::Picture& picture, const protocol::Uuid& chance);

/// The remark that says so.
protocol::Remark outcome_said(const protocol::Uuid& chance, bool came_true);

/// "70 %"; what is neither sure nor out of the question is "over 99 %" or "under 1 %" at most.
std::string chance_text(double chance);

/// Outcomes worth a chance at a moment: another kind here, each kind still wanted before they leave
/// (the most wanted first, at most five), leaving in time. Empty where the party is at no station.
std::vector<std::string> outcomes_to_state(const picture::Picture& picture, picture::Instant now);

}  // namespace stonecall::debrief
