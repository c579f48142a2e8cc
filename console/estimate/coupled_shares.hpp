#pragma once

#include <span>
#include <vector>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

/// One part of a whole in a density proportional to Π p^(alpha − 1) · (1 − p)^against over parts
/// that add up to 1.
struct CoupledPart {
  double alpha = 1;    ///< > 0
  double against = 0;  ///< ≥ 0
};

/// The distribution of one share in (0, 1), tabulated over its log-odds.
class TabulatedShare {
 public:
  double mean() const { return mean_; }
  double variance() const { return variance_; }
  double at_most(double x) const;             ///< x in [0, 1]
  double exceeded(double probability) const;  ///< the share exceeded with this one
  Interval interval(double confidence) const;

 private:
  friend class Coupling;
  double interpolated(double log_odds) const;

  double first_ = 0, step_ = 0;       // log-odds of the first entry, and from one to the next
  std::vector<double> distribution_;  // ascending from 0 to 1
  std::vector<double> density_;       // of the log-odds
  double mean_ = 0, variance_ = 0;
};

/// The distributions of the parts one by one, at least two of them. Only their sum couples the
/// parts, so the others of a part enter as one amount, which is folded up part by part by
/// quadrature, with no random numbers: right to 0.0002, mostly to 0.00001.
std::vector<TabulatedShare> coupled_shares(std::span<const CoupledPart> parts);

}  // namespace stonecall::estimate
