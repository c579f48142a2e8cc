#pragma once

#include <span>

/// What a bag of samples is worth to the plan, and what meeting rocks by chance is expected to add
/// to it.
namespace stonecall::advise {

/// One kind of rock as the plan values it. A kind that is not wanted by name is {weight of a new
/// kind, number 1}.
struct Wanted {
  double weight = 1;    ///< worth of the first, at least 0
  int number = 1;       ///< wanted in all, at least 0; more than `most_wanted` counts as that
  double repeat = 0.5;  ///< worth of each further one as a part of the one before, 0–1
  int have = 0;         ///< bagged already

  bool operator==(const Wanted&) const = default;
};

/// A party on foot bags far fewer of one kind in a few hours.
inline constexpr int most_wanted = 32;

/// Σ_i w_i Σ_{k=1..min(n_i, c_i)} d_i^(k−1). `bagged` holds n_i ≥ 0, one a kind (`have` is not
/// looked at).
double worth_of_bag(std::span<const Wanted> kinds, std::span<const int> bagged);

/// E[min(number, N)], N Poisson with mean `mean_met` ≥ 0: how many of `number` wanted rocks get
/// taken. Closed form number·P(N ≥ number) + mean·P(N ≤ number − 2) − …, by incomplete gamma
/// functions.
double expected_taken(double mean_met, int number);

/// Expected worth added to what is in the bag when rocks of the kind are met Poisson(mean_met)
/// times: E[Σ_{k=have+1..min(c, have+N)} w d^(k−1)].
double expected_worth(double mean_met, const Wanted& kind);

}  // namespace stonecall::advise
