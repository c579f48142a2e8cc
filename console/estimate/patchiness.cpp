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
struct Alike {
  double more_within = 0;  // W − B
  double unlike = 0;       // 1 − B
  double weight = 0;
};

Alike alike(const Looks& looks) {
  if (looks.empty()) return {};
  std::vector<double> met(looks.front().size(), 0);
  double n = 0, pairs_within = 0, same_within = 0, squares = 0;
  for (const auto& look : looks) {
    const double rocks = rocks_in(look);
    n += rocks;
    squares += rocks * rocks;
    pairs_within += rocks * (rocks - 1);
    for (std::size_t k = 0; k < met.size(); ++k) {
      const auto count = static_cast<double>(look[k]);
      met[k] += count;
      same_within += count * (count - 1);
    }
  }
  const double pairs_across = n * n - squares;
  if (!(pairs_within > 0 && pairs_across > 0)) return {};
  double same_across =
      -same_within - n;  // of all ordered pairs, without those within looks and each with itself
  for (const double count : met) same_across += count * count;
  const double across = same_across / pairs_across;
  double weight = 0;
  for (const auto& look : looks) {
    const double rocks = rocks_in(look);
    if (rocks > 0) weight += (rocks - 1) * (1 - rocks / n);
  }
  return {same_within / pairs_within - across, 1 - across, weight};
}

}  // namespace

Estimate<double> patchiness(std::span<const Looks> stations) {
  double more_within = 0, unlike = 0;
  for (const auto& looks : stations) {
    const auto station = alike(looks);
    more_within += station.weight * station.more_within;
    unlike += station.weight * station.unlike;
  }
  if (!(unlike > 0)) return tl::unexpected(NoBasis::too_few_looks);
  return std::clamp(more_within / unlike, 0.0, 1.0);
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
