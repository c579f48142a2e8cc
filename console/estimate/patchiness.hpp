#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

// Patchy ground: rocks of one look are more alike than rocks of the whole station, so ten of one look say less than
// ten taken here and there. A station's looks are rows of counts over the same classes.
using Looks = std::vector<std::vector<std::int64_t>>;

/// How alike the rocks of one look are: the correlation ρ, 0 … 1, of a Dirichlet-multinomial. Moment estimate
/// from the looks of all stations given (patchiness is taken as a trait of the area, the shares as each station's own):
///   ρ = Σ (X² − (K − 1)(L − 1)) / Σ (K − 1)·Σ_l (n_l − 1)(1 − n_l/n),
/// X² being Pearson's statistic for L looks of n_l rocks over the K classes met at the station. With equal looks of one station
/// 1 + (n_l − 1)ρ is X²/((K − 1)(L − 1)), the mean design effect of Rao & Scott (1981, JASA 76:221-230; 1984, Annals of
/// Statistics 12:46-60); with unequal ones and several stations it needs no other formula (Brier 1980, Biometrika
/// 67:591-596). No basis where no station has two looks with two classes and two rocks in one of them.
Estimate<double> patchiness(std::span<const Looks> stations);

/// What to divide a station's tallies by: variance of its pooled shares over that of as many rocks picked singly, at least 1.
/// 1 + ρ(Σ n_l²/n − 1); one rock a look, or nothing counted: 1.
double design_effect(const Looks& looks, double patchiness);

/// The same from this station alone; 1 with fewer than two looks.
double design_effect(const Looks& looks);

}  // namespace stonecall::estimate
