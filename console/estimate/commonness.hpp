#pragma once

#include <span>

#include "console/estimate/abundance.hpp"

namespace stonecall::estimate {

/// A party hunting for oddities forgets the ordinary rock: every bagged sample is labelled by how
/// common its kind is where it was picked.
enum class Commonness { typical, uncommon, rare };

/// Shares, fractions: typical from the first on, rare below the second. Common practice, no source.
struct CommonnessLimits {
  double typical = 0.25;
  double rare = 0.05;
};

struct CommonnessLabel {
  Commonness label = Commonness::uncommon;
  double probability = 0;  ///< that the label is right
  double probability_typical = 0;
  double probability_rare = 0;
};

/// The most probable label; of equal ones the more common kind's.
CommonnessLabel commonness(const ShareMarginals& shares, std::size_t kind,
                           const CommonnessLimits& limits = {});

/// Where else the kind is found.
enum class Reach {
  not_known,   ///< no other station with evidence
  local_here,  ///< rare or missing at all others
  in_places,   ///< at some
  everywhere,  ///< at all others
};

/// From the probability, per other station with evidence, that the kind is not rare there.
Reach reach(std::span<const double> probability_not_rare_elsewhere);

}  // namespace stonecall::estimate
