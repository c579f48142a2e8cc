#include "console/estimate/ground.hpp"

#include <cassert>
#include <cmath>
#include <vector>

#include <boost/math/special_functions/gamma.hpp>

namespace stonecall::estimate {
namespace {

namespace bm = boost::math;

// Logarithm of the Dirichlet-multinomial probability of the counts in one given order; the number
// of orders is the same under both hypotheses.
double log_probability(std::span<const double> counts, double prior_each) {
  double total = 0, log_p = 0;
  for (const double count : counts) {
    total += count;
    if (count > 0) log_p += bm::lgamma(prior_each + count) - bm::lgamma(prior_each);
  }
  const double prior = prior_each * static_cast<double>(counts.size());
  return log_p + bm::lgamma(prior) - bm::lgamma(prior + total);
}

}  // namespace

SameGround same_ground(std::span<const double> here, std::span<const double> there,
                       double prior_each, double prior_probability) {
  assert(here.size() == there.size() && prior_each > 0);
  assert(prior_probability > 0 && prior_probability < 1);
  std::vector<double> both(here.begin(), here.end());
  for (std::size_t i = 0; i < both.size(); ++i) {
    assert(here[i] >= 0 && there[i] >= 0);
    both[i] += there[i];
  }
  const double log_factor = log_probability(both, prior_each) - log_probability(here, prior_each) -
                            log_probability(there, prior_each);
  const double log_odds = log_factor + std::log(prior_probability / (1 - prior_probability));
  return {log_factor, 1 / (1 + std::exp(-log_odds))};
}

}  // namespace stonecall::estimate
