#pragma once

#include "console/advise/hindsight.hpp"

namespace stonecall::desk {

/// A moment of a replay with all that was known at the end of the log.
struct AtTheEnd {
  advise::InHindsight here;  ///< of the assessment's station and moment
  advise::Ground whole;
};

/// `end` is the picture of all there is, `then` that of the assessment's moment.
AtTheEnd at_the_end(const picture::Picture& then, const advise::Assessment& assessment,
                    const picture::Picture& end, advise::Memory& memory);

}  // namespace stonecall::desk
