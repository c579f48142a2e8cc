#pragma once

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

/// Kinds expected among `rocks` picked at random from those counted, with standard error: makes a
/// long stop and a short one comparable (Hurlbert 1971, Ecology 52:577-586; variance Heck et al.
/// 1975, Ecology 56:1459-1461). 0 ≤ rocks ≤ counted; outside_the_data beyond.
Estimate<WithError> rarefied_kinds(Counts counts, std::int64_t rocks);

struct KindsAndCoverage {
  double kinds = 0;
  double coverage = 0;
};

/// Kinds met and share of the ground they cover after `rocks` looked at, 1 or more: rarefied below
/// the number counted, extrapolated above (Chao & Jost 2012, Ecology 93:2533-2547; Chao et al.
/// 2014, Ecological Monographs 84:45-67).
Estimate<KindsAndCoverage> kinds_and_coverage_at(Counts counts, std::int64_t rocks);

}  // namespace stonecall::estimate
