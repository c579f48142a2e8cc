#pragma once

#include <optional>

#include "console/advise/allocation.hpp"
#include "console/advise/assessment.hpp"

/// A moment looked at again with all that came to be known later: `known` is a picture that holds
/// the moment's and more. Luck stays out: hindsight knows the ground, not which rock comes next.
namespace stonecall::advise {

/// The moment's station as it came to be known, and what is advised at the moment by that.
struct InHindsight {
  Ground here;                         ///< without a station: there was none yet
  std::optional<Departure> departure;  ///< none: no plan, not at a station, or the way not known
  std::optional<Advice> advice;        ///< none: no plan, or not at a station
};

/// Shares and pace come from `known`; station, time, bag and what is owed come from `then` and its
/// assessment. Nothing is asked for that a count could tell: it is known, or nobody counted.
InHindsight in_hindsight(const picture::Picture& then, const Assessment& assessment,
                         const picture::Picture& known, Memory& memory);

}  // namespace stonecall::advise
