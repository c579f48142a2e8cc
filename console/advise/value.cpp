#include "console/advise/value.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <boost/math/special_functions/gamma.hpp>

namespace stonecall::advise {
namespace {

/// P(N ≥ n) for N Poisson with mean `mean`.
double at_least(int n, double mean) {
  if (n <= 0) return 1;
  if (mean <= 0) return 0;
  return boost::math::gamma_p(n, mean);
}

}  // namespace

double worth_of_bag(std::span<const Wanted> kinds, std::span<const int> bagged) {
  assert(kinds.size() == bagged.size());
  double worth = 0;
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    double next = kinds[i].weight;
    const int counted = std::min({bagged[i], kinds[i].number, most_wanted});
    for (int k = 0; k < counted; ++k, next *= kinds[i].repeat) worth += next;
  }
  return worth;
}

double expected_taken(double mean_met, int number) {
  assert(mean_met >= 0);
  if (number <= 0 || mean_met == 0) return 0;
  return mean_met * (1 - at_least(number - 1, mean_met)) + number * at_least(number, mean_met);
}

double expected_worth(double mean_met, const Wanted& kind) {
  assert(mean_met >= 0);
  const int number = std::min(kind.number, most_wanted);
  double worth = 0;
  double next = kind.weight * std::pow(kind.repeat, std::min(kind.have, number));
  for (int k = 1; k <= number - kind.have; ++k, next *= kind.repeat)
    worth += next * at_least(k, mean_met);
  return worth;
}

}  // namespace stonecall::advise
