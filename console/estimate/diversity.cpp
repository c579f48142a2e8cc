#include "console/estimate/diversity.hpp"

#include <cmath>

#include "console/estimate/unseen.hpp"

namespace stonecall::estimate {

Estimate<Diversity> diversity(Counts counts) {
  const auto met = met_once_and_twice(counts);
  if (!met) return tl::unexpected(met.error());
  double entropy = 0, squares = 0;
  for (const auto count : counts) {
    if (count == 0) continue;
    const double p = static_cast<double>(count) / met->counted;
    entropy -= p * std::log(p);
    squares += p * p;
  }
  return Diversity{static_cast<double>(met->observed), std::exp(entropy), 1 / squares, entropy,
                   1 - squares};
}

}  // namespace stonecall::estimate
