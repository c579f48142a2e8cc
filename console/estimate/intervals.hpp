#pragma once

#include <cstdint>
#include <vector>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

// Intervals for the share of one kind: met `met` times among `counted` rocks picked without
// choosing. `confidence` is two-sided and lies in (0, 1). With nothing counted the answer is all of
// [0, 1] (for Jeffreys the interval of its prior). Not possible: a count below zero, more met than
// counted, a confidence outside (0, 1). Absolute error below 1e-12 for counts to 10^6.

/// Wilson 1927, JASA 22:209-212. The end at met = 0 is exactly 0, at met = counted exactly 1.
Estimate<Interval> wilson(std::int64_t met, std::int64_t counted, double confidence);

/// Lower end of a one-sided Wilson interval: "at least this share".
Estimate<double> wilson_lower(std::int64_t met, std::int64_t counted, double confidence_one_sided);

/// Clopper & Pearson 1934, Biometrika 26:404-413: never covers less than it says.
Estimate<Interval> clopper_pearson(std::int64_t met, std::int64_t counted, double confidence);

/// Central interval of the posterior under Jeffreys' prior Beta(1/2, 1/2).
Estimate<Interval> jeffreys(std::int64_t met, std::int64_t counted, double confidence);

/// The same with the end at met = 0 moved to 0 and at met = counted to 1, so that an interval never
/// leaves out what was seen: Brown, Cai & DasGupta 2001, Statistical Science 16:101-133.
Estimate<Interval> jeffreys_keeping_ends(std::int64_t met, std::int64_t counted, double confidence);

/// None met among `counted`: the largest share that this still allows, solving (1 − p)^n = 1 −
/// confidence. Nothing counted: 1.
Estimate<double> none_met_upper(std::int64_t counted, double confidence_one_sided);

/// The 95 % value of the same by heart: 3/n, at most 1 (Hanley & Lippman-Hand 1983, JAMA
/// 249:1743-1745).
Estimate<double> rule_of_three(std::int64_t counted);

/// Two standard deviations of a point count, in percent: 2·sqrt(p(100 − p)/n), p in 0 … 100
/// percent, n points ≥ 1 (van der Plas & Tobi 1965, American Journal of Science 263:87-90). It is 0
/// at p = 0 and p = 100, where an interval such as Wilson's is not.
Estimate<double> point_count_two_sigma_percent(double percent, double points);

// Intervals for all kinds at once: all of them hold together with at least about the confidence.
// `counts` is one figure a kind, two kinds or more; no basis with nothing counted.

/// Goodman 1965, Technometrics 7:247-254.
Estimate<std::vector<Interval>> goodman(Counts counts, double confidence);

/// Sison & Glaz 1995, JASA 90:366-369; meant for seven kinds or more and counts that are not few.
/// No basis (outside the data) where its approximation never reaches the confidence.
Estimate<std::vector<Interval>> sison_glaz(Counts counts, double confidence);

}  // namespace stonecall::estimate
