#include "console/advise/plan_trust.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <boost/math/special_functions/gamma.hpp>

namespace stonecall::advise {
namespace {

/// log P(counts | Dirichlet(alpha)), up to what does not depend on alpha.
double log_likelihood(std::span<const double> counts, std::span<const double> alpha) {
  using boost::math::lgamma;
  double sum = 0, counted = 0, weight = 0;
  for (std::size_t k = 0; k < alpha.size(); ++k) {
    sum += lgamma(alpha[k] + counts[k]) - lgamma(alpha[k]);
    counted += counts[k];
    weight += alpha[k];
  }
  return sum + lgamma(weight) - lgamma(weight + counted);
}

}  // namespace

double chance_plan_holds(std::span<const ExpectedAndCounted> stations, double prior_each,
                         double before) {
  assert(prior_each > 0 && before >= 0 && before <= 1);
  double log_factor = 0;
  for (const ExpectedAndCounted& station : stations) {
    assert(station.expected.size() == station.counted.size());
    if (station.expected.empty()) continue;
    const std::vector<double> nothing(station.expected.size(), prior_each);
    std::vector<double> alpha = nothing;
    for (std::size_t k = 0; k < alpha.size(); ++k)
      alpha[k] += station.sureness * station.expected[k];
    log_factor += log_likelihood(station.counted, alpha) - log_likelihood(station.counted, nothing);
  }
  // Beyond this the chance is 0 or 1 to every digit, and exp stays a number.
  const double odds_against = std::exp(-std::clamp(log_factor, -600.0, 600.0));
  return before / (before + (1 - before) * odds_against);
}

}  // namespace stonecall::advise
