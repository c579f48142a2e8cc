#pragma once

#include <cstdint>

#include "console/estimate/basis.hpp"
#include "console/estimate/patchiness.hpp"

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

/// A Hill number of the ground; value and ends are 1 or more.
struct HillNumber {
  double value = 1;
  Interval interval;
};

/// How varied the ground is that the counts are of, kinds not met included. No order's value is
/// above that of the order before it, as no order's true number is.
struct GroundDiversity {
  HillNumber kinds;     ///< order 0: at least so many, bias-corrected Chao1 with chao1_interval
  HillNumber common;    ///< order 1
  HillNumber dominant;  ///< order 2
};

/// Chao & Jost's estimates (2015, Methods in Ecology and Evolution 6:873-882): of order 1 by the
/// entropy estimator of Chao, Wang & Jost (2013, same journal 4:1091-1100)
///   Σ x/n (ψ(n) − ψ(x)) + (f1/n)(1−A)^(1−n) (−ln A − Σ_{r<n} (1−A)^r / r),
///   A = 2f2/((n−1)f1 + 2f2), with f2 = 0 2/((n−1)(f1−1) + 2),
/// of order 2 by the pairs of rocks that are of one kind, n(n−1)/Σ x(x−1). (Formulas from memory;
/// the papers were not at hand.)
///
/// Their errors come from the bootstrap of Chao et al. (2014, Ecological Monographs 84:45-67,
/// appendix): looks as large as the ones made are drawn from an estimated ground, where a kind met
/// x times has the share x/n·(1 − λ(1 − x/n)^n) and the kinds not met share equally what
/// coverage_chao_jost leaves. The interval is normal on the scale of logarithms.
///
/// `patchiness` (patchiness.hpp; 0 … 1) is how alike the rocks of one look are. It leaves the looks
/// drawn as patchy as those made (Dirichlet-multinomial), so that they scatter more; takes from the
/// pairs of order 2 what a look's own rocks are more alike; and since fewer patches than rocks were
/// seen, the value is put right by what the estimates of the drawn looks fall short of their ground
/// on average.
///
/// No upper end is below what one missed kind could still add that would escape as many rocks
/// picked singly with probability 1 − confidence (compare next_is_new), so that one kind met often
/// is not shown as certainty.
///
/// Rows of `looks` are counts over the same kinds told apart ("other" is not one). The same looks
/// and seed give the same figures. No basis: nothing counted; one rock; all kinds met once. Not
/// possible: a count below zero, a patchiness or confidence out of range.
Estimate<GroundDiversity> ground_diversity(const Looks& looks, double patchiness,
                                           double confidence = shown_confidence,
                                           std::uint64_t seed = 1);

}  // namespace stonecall::estimate
