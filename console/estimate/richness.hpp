#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

// How many kinds there are in all, met and unmet: for the debrief. While the party is out,
// unseen.hpp answers the nearer question. Standard errors by the delta method. No basis: nothing
// counted. Not possible: a count below zero.

/// S + f1(f1 − 1)/(2(f2 + 1)): the figure shown, since it is defined for every count (Chao 1984,
/// Scandinavian Journal of Statistics 11:265-270; bias-corrected form).
/// Variance Σ g_i² f_i − (Σ g_i f_i)²/Ŝ, g the gradient by f_i.
Estimate<WithError> chao1_bias_corrected(Counts counts);

enum class SmallSample { corrected, uncorrected };

/// S + c·f1²/(2f2), with f2 = 0 S + c·f1(f1 − 1)/2; c = (n − 1)/n, or 1 if uncorrected (Chao 1984,
/// 1987).
Estimate<WithError> chao1_classic(Counts counts, SmallSample factor = SmallSample::corrected);

/// Abundance-based coverage estimator; rare means met ten times or fewer (Chao & Lee 1992, JASA
/// 87:210-217). No kind rare: the kinds met, without error. No basis where all rare kinds were met
/// once.
Estimate<WithError> ace(Counts counts);

/// The standard error that vegan 2.6 prints for ACE, to compare with its users' figures. Its
/// gradient takes the coverage as 1 − f1/(1 − N) where the estimate has 1 − f1/N, which makes the
/// error smaller than the delta method's; ours is above.
Estimate<double> ace_error_as_vegan(Counts counts);

/// Log-normal interval (Chao 1987, Biometrics 43:783-791): observed + f0/K … observed + f0·K. With
/// nothing estimated unseen, or no error, it is the estimate itself.
Interval lognormal_interval(std::int64_t observed, const WithError& estimate, double confidence);

/// The interval to show beside either Chao1: log-normal where kinds are estimated unseen. Where
/// none are, the estimate has no error of its own, and "7, from 7 to 7" would be too sure: then a
/// kind met X times counts as one that is missed with probability exp(−X), which puts S/(1 − P) ±
/// z·√V/(1 − P), not below S, with P the mean of exp(−X) and V = Σ(exp(−X) − exp(−2X)) − (Σ
/// X·exp(−X))²/n. (Colwell, EstimateS user's guide, appendix B; from memory.) No basis: nothing
/// counted.
Estimate<Interval> chao1_interval(Counts counts, const WithError& chao1, double confidence);

/// From looks or stations as units: which kinds each of them met.
using Presence = std::vector<std::vector<bool>>;  ///< a row a unit, all rows equally long

struct IncidenceRichness {
  std::int64_t observed = 0;
  std::int64_t units = 0;
  std::int64_t unique = 0;     ///< kinds met in one unit only
  std::int64_t duplicate = 0;  ///< in two
  WithError chao2;             ///< Chao 1987, with the factor (t − 1)/t
  WithError chao2_no_factor;   ///< without it
  WithError jackknife1;   ///< Burnham & Overton 1979; variance Smith & van Belle 1984, as in vegan
  double jackknife2 = 0;  ///< with one unit, like all of these: the kinds met
  WithError bootstrap;    ///< Smith & van Belle 1984, Biometrics 40:119-129
};

/// No basis: no kind met in any unit.
Estimate<IncidenceRichness> incidence_richness(const Presence& presence);

}  // namespace stonecall::estimate
