#pragma once

#include "protocol/fault.hpp"
#include "protocol/plan.hpp"

namespace stonecall::estimate {

/// Every estimator for figures typed or piped in: a calculator for the debrief room, and the way
/// outside checks are run. The request is an object with one or more of
///
///   "counts": [46, 22, 1]            rocks counted per kind, without choosing; or look by look:
///   "looks": [[7, 2, 1], [5, 5, 0]]  a row a look, a column a kind
///   "kind": {"met": 7, "counted": 10}
///   "meet": {"share": 0.05, "confidence": 0.95}
///   "miss_none": {"smallest_share": 0.05, "miss_probability": 0.05}
///   "pace": {"events": 7, "minutes": 20, "prior_events": 0.5, "prior_minutes": 0,
///            "further_minutes": 10}
///   "same_ground": [[7, 2, 1], [1, 8, 1]]
///   "caller": {"pairs": [{"spoken_percent": 30, "range_percent": 10, "met": 2, "counted": 10}],
///              "spread_percent": 10}
///   "size_mm": 35, "roundness": 0.3
///
/// and, where wished, "confidence": 0.9 for all intervals; with counts or looks also "shares":
/// [{"kind": 0, "percent": [60, 80], "best_percent": 70, "spread_percent": 10, "bias_percent": 0,
/// "caller": 0}], "chosen": 11 (chosen samples, not used), "other_last": true (the last column is
/// rocks of no named kind), "prior_each": 0.5, "design_effect": 1.5 (else from the looks),
/// "further": [10, 50] (rocks looked at from here on), "sizes": [10, 20] (rocks in all).
///
/// The answer holds a member for each; where there is no basis for a figure, words that begin "no
/// basis" stand in its place. A fault names the first member that is wrong. Limits: 500 kinds,
/// 1,000 looks, counts and rocks to 10^9.
protocol::Result<protocol::Json> calculate(const protocol::Json& request);

}  // namespace stonecall::estimate
