#pragma once

#include <cstdint>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

// "Count ten for us", or forty? Rocks are taken as looked at without choosing, and the ground as
// large.

/// Fewest rocks to look at so that a kind of share `share` is met at least once with probability
/// `confidence`: ceil(ln(1 − confidence)/ln(1 − share)), settled where the ratio is a whole number.
/// share in (0, 1], confidence in [0, 1); at least 1. Not possible where more than 10^15 would be
/// needed.
Estimate<std::int64_t> rocks_to_meet(double share, double confidence);

/// 1 − (1 − share)^rocks; share in [0, 1], rocks ≥ 0.
Estimate<double> probability_met(double share, std::int64_t rocks);

/// Fewest rocks so that with probability 1 − `miss_probability` no kind of at least the share
/// f = `smallest_share` is missed, in the worst case of M = floor(1/f) kinds that just reach it:
/// smallest n with Σ_{i=1..M} (−1)^(i−1) C(M, i)(1 − i·f)^n ≤ miss_probability (Vermeesch 2004,
/// Earth and Planetary Science Letters 224:441-451). Both in (0, 1); smallest_share at least 1e-6.
/// Not possible outside.
Estimate<std::int64_t> rocks_to_miss_none(double smallest_share, double miss_probability);

}  // namespace stonecall::estimate
