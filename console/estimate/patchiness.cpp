#include "console/estimate/patchiness.hpp"

#include <algorithm>
#include <cassert>
#include <numeric>

namespace stonecall::estimate {
namespace {

double rocks_in(std::span<const std::int64_t> look) {
  return std::accumulate(look.begin(), look.end(), 0.0,
                         [](double sum, auto count) { return sum + static_cast<double>(count); });
}

// One station's part of the moment estimate.
struct Disagreeing {
  double excess = 0;       // X² − (K − 1)(L − 1)
  double sensitivity = 0;  // how much of it one unit of ρ would make
};

Disagreeing disagreeing(const Looks& all) {
  std::vector<const std::vector<std::int64_t>*> looks;
  std::vector<double> totals;
  double n = 0;
  for (const auto& look : all) {
    const double rocks = rocks_in(look);
    if (rocks == 0) continue;
    looks.push_back(&look);
    totals.push_back(rocks);
    n += rocks;
  }
  if (looks.size() < 2) return {};

  double classes = 0, statistic = 0;
  for (std::size_t k = 0; k < all.front().size(); ++k) {
    double met = 0;
    for (const auto* look : looks) met += static_cast<double>((*look)[k]);
    if (met == 0) continue;
    ++classes;
    for (std::size_t l = 0; l < looks.size(); ++l) {
      const double expected = totals[l] * met / n;
      const double difference = static_cast<double>((*looks[l])[k]) - expected;
      statistic += difference * difference / expected;
    }
  }
  const double degrees = (classes - 1) * (static_cast<double>(looks.size()) - 1);
  double spare = 0;
  for (const double rocks : totals) spare += (rocks - 1) * (1 - rocks / n);
  // (n − 1)/n: with all totals given, the statistic of chance alone is that much above its degrees of freedom.
  return {statistic * (n - 1) / n - degrees, (classes - 1) * spare};
}

}  // namespace

Estimate<double> patchiness(std::span<const Looks> stations) {
  double excess = 0, sensitivity = 0;
  for (const auto& looks : stations) {
    const auto part = disagreeing(looks);
    excess += part.excess;
    sensitivity += part.sensitivity;
  }
  if (!(sensitivity > 0)) return tl::unexpected(NoBasis::too_few_looks);
  return std::clamp(excess / sensitivity, 0.0, 1.0);
}

double design_effect(const Looks& looks, double patchiness) {
  assert(patchiness >= 0 && patchiness <= 1);
  double n = 0, squares = 0;
  for (const auto& look : looks) {
    const double rocks = rocks_in(look);
    n += rocks;
    squares += rocks * rocks;
  }
  return n > 0 ? std::max(1.0, 1 + patchiness * (squares / n - 1)) : 1;
}

double design_effect(const Looks& looks) {
  return design_effect(looks, patchiness(std::span(&looks, 1)).value_or(0));
}

}  // namespace stonecall::estimate
