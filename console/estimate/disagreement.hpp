#pragma once

#include <vector>

#include "console/estimate/abundance.hpp"
#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

/// What a caller would say of a kind, going by the tallies alone.
struct ExpectedWord {
  double share = 0;  ///< of the tallies, plus the bias
  Interval range;    ///< within [0, 1]
};

/// The share is Beta(met/D + 1/2, (counted − met)/D + 1/2); what is said of it scatters around it,
/// normally, by the caller's spread and range. Where a beta-binomial of the share's own weight
/// would do the same in coarse steps, this is the same prediction on a continuous scale. confidence
/// in (0, 1).
ExpectedWord expected_word(std::int64_t met, std::int64_t counted, double design_effect,
                           const SpokenShare& caller, double confidence = 0.99);

/// A spoken share that the tallies speak against. Both stay in the estimate; both are shown.
struct Disagreement {
  std::size_t share = 0;  ///< index into Evidence::shares
  double said = 0;        ///< fraction
  std::int64_t met = 0;
  std::int64_t counted = 0;
  ExpectedWord expected;
};

/// Every spoken share outside the range; none while nothing is counted.
std::vector<Disagreement> disagreements(const Evidence& evidence, double design_effect = 1,
                                        double confidence = 0.99);

}  // namespace stonecall::estimate
