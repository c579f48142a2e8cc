#include "console/estimate/commonness.hpp"

#include <algorithm>
#include <cassert>

namespace stonecall::estimate {

CommonnessLabel commonness(const ShareMarginals& shares, std::size_t kind,
                           const CommonnessLimits& limits) {
  assert(0 <= limits.rare && limits.rare <= limits.typical && limits.typical <= 1);
  CommonnessLabel answer;
  answer.probability_typical = 1 - shares.probability_at_most(kind, limits.typical);
  answer.probability_rare = shares.probability_at_most(kind, limits.rare);
  const double uncommon = std::max(0.0, 1 - answer.probability_typical - answer.probability_rare);
  answer.probability = std::max({answer.probability_typical, uncommon, answer.probability_rare});
  answer.label = answer.probability == answer.probability_typical ? Commonness::typical
                 : answer.probability == uncommon                 ? Commonness::uncommon
                                                                  : Commonness::rare;
  return answer;
}

Reach reach(std::span<const double> probability_not_rare_elsewhere) {
  if (probability_not_rare_elsewhere.empty()) return Reach::not_known;
  const auto found =
      std::count_if(probability_not_rare_elsewhere.begin(), probability_not_rare_elsewhere.end(),
                    [](double probability) { return probability >= 0.5; });
  if (found == 0) return Reach::local_here;
  return found == std::ssize(probability_not_rare_elsewhere) ? Reach::everywhere : Reach::in_places;
}

}  // namespace stonecall::estimate
