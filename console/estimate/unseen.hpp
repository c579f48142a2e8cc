#pragma once

#include <cstdint>

#include "console/estimate/basis.hpp"
#include "console/estimate/pace.hpp"

namespace stonecall::estimate {

// What has not been met yet, from unselective counts only: one figure a kind. Rocks of "other" that
// nobody told apart must be left out, for they are not one kind. With f1 kinds met once, f2 twice,
// n rocks counted. No basis: nothing counted. Not possible: a count below zero.

struct MetOnceAndTwice {
  std::int64_t observed = 0;  ///< kinds met
  double counted = 0;         ///< n
  double once = 0;            ///< f1
  double twice = 0;           ///< f2
};

Estimate<MetOnceAndTwice> met_once_and_twice(Counts counts);

/// Share of the ground that belongs to kinds already met: 1 − f1/n (Good 1953, Biometrika
/// 40:237-264).
Estimate<double> coverage_good(Counts counts);

/// The same, better: 1 − (f1/n)·(n−1)f1/((n−1)f1 + 2f2), and with f2 = 0
/// 1 − (f1/n)·(n−1)(f1−1)/((n−1)(f1−1) + 2) (Chao & Jost 2012, Ecology 93:2533-2547). Convention:
/// where f1 = 1 and f2 = 0 this is 1.
Estimate<double> coverage_chao_jost(Counts counts);

/// Expected number of kinds not yet met, by the classic lower bound (Chao 1984, Scandinavian
/// Journal of Statistics 11:265-270):
/// ((n−1)/n)·f1²/(2f2), and with f2 = 0 ((n−1)/n)·f1(f1−1)/2.
Estimate<double> unseen_kinds(Counts counts);

/// Expected new kinds among the next `further` rocks: f0·(1 − (1 − f1/(n·f0 + f1))^further) with
/// f0 = unseen_kinds (Chao et al. 2014, Ecological Monographs 84:45-67). further ≥ 0; trust it to
/// about the number counted.
Estimate<double> expected_new_kinds(Counts counts, double further);

/// How many new kinds come in the `minutes` ahead, at a pace of looking that is not known for sure:
/// the central range of their predictive distribution, whole kinds. The number is Poisson about
/// what expected_new_kinds gives with f1 and f2 in place of their expectations; those are Gamma(f1
/// + 1/2) and Gamma(f2 + 1/2) (Jeffreys; that the numbers of kinds met once and twice are Poisson
/// is Good & Toulmin's model, 1956, Biometrika 43:45-63), the pace has its own posterior, and their
/// product is summed over a grid of quantiles. So one kind met once, or none, is shown as what it
/// is: hardly any knowledge. minutes ≥ 0. Holds for about as many rocks as were counted.
Estimate<Interval> new_kinds_range(Counts counts, const RatePosterior& rocks_per_minute,
                                   double minutes, double confidence = shown_confidence);

/// Coverage after `further` more rocks (same source).
Estimate<double> coverage_after(Counts counts, double further);

struct NextIsNew {
  double probability = 0;
  Interval interval;  ///< of the share of the ground that unseen kinds make up
};

/// Probability that the next rock looked at is of a kind not met yet: what coverage_chao_jost
/// leaves, but f1/n where f1 = 1 and f2 = 0, since one kind met once is no proof of having met all.
/// The interval is Esty's normal one (1983, Annals of Statistics 11:905-912) around f1/n, within
/// [0, 1], with sd = sqrt(f1(1 − f1/n) + 2f2)/n. Its upper end is never below
/// 1 − (1 − confidence)^(1/n), the share a single missed kind could still have, so that "all met
/// often" is not shown as certainty. No basis below two rocks.
Estimate<NextIsNew> next_is_new(Counts counts, double confidence = shown_confidence);

/// "about 1 in 12", the words for a probability: n in 1/p rounded; 0 when p is 0.
std::int64_t one_in(double probability);

}  // namespace stonecall::estimate
