#include "console/estimate/commonness.hpp"

#include <algorithm>
#include <cassert>

namespace stonecall::estimate {

namespace {

CommonnessLabel label_of(double typical, double rare) {
  CommonnessLabel answer;
  answer.probability_typical = typical;
  answer.probability_rare = rare;
  const double uncommon = std::max(0.0, 1 - typical - rare);
  answer.probability = std::max({typical, uncommon, rare});
  answer.label = answer.probability == typical    ? Commonness::typical
                 : answer.probability == uncommon ? Commonness::uncommon
                                                  : Commonness::rare;
  return answer;
}

bool possible(const CommonnessLimits& limits) {
  return 0 <= limits.rare && limits.rare <= limits.typical && limits.typical <= 1;
}

}  // namespace

CommonnessLabel commonness(const SharePosterior& posterior, std::size_t kind,
                           const CommonnessLimits& limits) {
  assert(possible(limits));
  return label_of(1 - probability_at_most(posterior, kind, limits.typical),
                  probability_at_most(posterior, kind, limits.rare));
}

CommonnessLabel commonness(const ShareDraws& draws, std::size_t kind,
                           const CommonnessLimits& limits) {
  assert(possible(limits) && draws.size() > 0 && kind < draws.classes);
  double typical = 0, rare = 0;
  for (std::size_t i = 0; i < draws.size(); ++i) {
    if (draws[i][kind] >= limits.typical) ++typical;
    if (draws[i][kind] < limits.rare) ++rare;
  }
  const auto n = static_cast<double>(draws.size());
  return label_of(typical / n, rare / n);
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
