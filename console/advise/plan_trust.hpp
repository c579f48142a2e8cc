#pragma once

#include <span>
#include <vector>

/// Has the plan described the ground so far? What it expects of the stations ahead is worth as much
/// as that.
namespace stonecall::advise {

/// What the plan expected of a station, and what was counted there without choosing.
struct ExpectedAndCounted {
  std::vector<double> expected;  ///< share of each class, fractions adding up to at most 1
  double sureness = 10;          ///< counted rocks the expectation is worth, at least 0
  std::vector<double> counted;   ///< of each class, divided by the design effect; at least 0
};

/// P(the plan describes this ground), from 0 to 1: Bayes factor of the counts under
/// Dirichlet(prior_each + sureness · expected) at every station against Dirichlet(prior_each),
/// starting from `before`. Where it does not hold, the expectation is worth nothing.
/// Dirichlet-multinomial: Johnson, Kotz & Balakrishnan (1997) Discrete Multivariate Distributions;
/// that a plan holds nine times in ten is our own guess, no source.
double chance_plan_holds(std::span<const ExpectedAndCounted> stations, double prior_each = 0.5,
                         double before = 0.9);

}  // namespace stonecall::advise
