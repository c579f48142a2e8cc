#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

// Patchy ground: rocks of one look are more alike than rocks of the whole station, so ten of one
// look say less than ten taken here and there. A station's looks are rows of counts over the same
// classes.
using Looks = std::vector<std::vector<std::int64_t>>;

/// How alike the rocks of one look are: the correlation ρ, 0 … 1, of a Dirichlet-multinomial, by
/// moments. With W the part of pairs of rocks within looks that are of one kind, and B that of
/// pairs from different looks of a station,
///   ρ = (W − B)/(1 − B),
/// which neither rare kinds nor short looks bias much, as they do Pearson's statistic. (Numerator
/// and denominator are unbiased, as in Hudson, Slatkin & Maddison 1992, Genetics 132:583-589, for
/// populations.) Over several stations both are summed, each station weighing
/// Σ (n_l − 1)(1 − n_l/n) for looks of n_l among n rocks: patchiness is taken as a trait of the
/// area, the shares as each station's own. No basis where no station has two looks, one of them of
/// two rocks, and two kinds.
Estimate<double> patchiness(std::span<const Looks> stations);

/// What to divide a station's tallies by: 1 + ρ(Σ n_l²/n − 1), the variance of its pooled shares
/// over that of as many rocks picked singly (Brier 1980, Biometrika 67:591-596; the mean design
/// effect of Rao & Scott 1981, JASA 76:221-230, for this model). At least 1; 1 with one rock a look
/// or nothing counted.
double design_effect(const Looks& looks, double patchiness);

/// The same from this station alone; 1 with fewer than two looks.
double design_effect(const Looks& looks);

}  // namespace stonecall::estimate
