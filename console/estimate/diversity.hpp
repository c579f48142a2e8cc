#pragma once

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

/// How varied what was counted is: the number of equally common kinds that would be as varied (Hill
/// 1973, Ecology 54:427-432). Of the sample, with no correction for kinds unseen.
struct Diversity {
  double kinds = 0;     ///< Hill number of order 0: kinds met
  double common = 0;    ///< order 1: exp(Shannon entropy)
  double dominant = 0;  ///< order 2: 1 / Σ p²
  double shannon_nats = 0;
  double gini_simpson =
      0;  ///< 1 − Σ p²: probability that two rocks, the first put back, are of different kinds
};

/// No basis: nothing counted.
Estimate<Diversity> diversity(Counts counts);

}  // namespace stonecall::estimate
