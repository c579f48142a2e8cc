#pragma once

#include <span>

namespace stonecall::estimate {

/// Whether two stations, or two looks, are the same ground: a party that moves within the same
/// ground gains little.
struct SameGround {
  double log_bayes_factor = 0;  ///< natural logarithm; above 0 speaks for the same ground
  double probability = 0.5;     ///< P(same ground)
};

/// One Dirichlet-multinomial for both against one each, prior `prior_each` per class (Good 1967,
/// Journal of the Royal Statistical Society B 29:399-431; Kass & Raftery 1995, JASA 90:773-795).
/// Counts per class, the same classes for both, each ≥ 0; counts divided by a design effect need
/// not be whole. `prior_probability` in (0, 1) that they are the same, before counting. With
/// nothing counted at one of them: factor 1, the prior probability.
SameGround same_ground(std::span<const double> here, std::span<const double> there,
                       double prior_each = 0.5, double prior_probability = 0.5);

}  // namespace stonecall::estimate
