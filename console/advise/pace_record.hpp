#pragma once

#include <optional>

#include "console/advise/assessment.hpp"
#include "console/estimate/pace.hpp"
#include "console/picture/picture.hpp"

namespace stonecall::advise {

/// What this party's own record says of its pace, up to a moment.
struct PaceRecord {
  int rocks = 0;  ///< told of: counted in looks, and each sample
  int samples = 0;
  double minutes = 0;           ///< at stations
  double handling_minutes = 0;  ///< from the first to the last word of each sample
};

PaceRecord pace_record(const picture::Picture& picture, picture::Instant now);

/// Rocks looked at per minute of station time that no sample took, the plan's expectation as prior.
estimate::Estimate<estimate::RatePosterior> looking_rate(const PaceRecord& record,
                                                         const protocol::Pace& expected);

/// Minutes a sample takes.
estimate::Estimate<estimate::DurationPosterior> handling_time(const PaceRecord& record,
                                                              const protocol::Pace& expected);

/// Both as they are shown; none where either has no basis.
std::optional<PaceNow> pace_at(const picture::Picture& picture, picture::Instant now);

}  // namespace stonecall::advise
