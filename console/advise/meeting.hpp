#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "console/advise/allocation.hpp"

/// What the party is expected to meet and to take, for many draws at once. The inner loops run over
/// the draws, so that the processor handles several of them in one step.
namespace stonecall::advise {

/// Expected number met of each kind under each draw since now: a row a kind, padded for speed.
struct Met {
  std::vector<float> mean;
  std::vector<float> none;  ///< e^−mean: the chance of having met none
};

/// Worth gained per draw at given minutes of a stay: draw d, minute index j at [d · minutes + j].
using GainRows = std::vector<float>;

/// Look-times per draw, in minutes, as a first guess and as found.
using Looks = std::vector<float>;

/// e^−x for x ≥ 0 to five digits; x beyond 80 counts as 80. std::exp is called one number at a time.
float falling(float x);

/// The kinds still wanted, the stations and the draws, laid out for speed. Station 0 is the one
/// where the party is.
class Meeting {
 public:
  /// Inputs are checked already. Takes every `stride`-th draw.
  Meeting(std::span<const Wanted> kinds, std::span<const Draw> draws, std::size_t stations_ahead,
          std::size_t stride);

  std::size_t draws() const { return draws_; }
  std::size_t stations() const { return stations_; }  ///< the one here included

  Met nothing_met() const;

  /// Adds a stay of so many minutes (looking, and handling what is taken) to what was met. `looks`
  /// is a first guess from a like stay, or empty; it becomes the look-times found.
  void stay(std::size_t station, double minutes, Met& met, Looks& looks) const;

  /// Worth gained per draw by what was met.
  std::vector<double> gained(const Met& met) const;

  /// Mean over the draws.
  double mean_gained(const Met& met) const;

  /// Mean worth gained by each of the kinds first handed in.
  std::vector<double> mean_gained_by_kind(const Met& met) const;

  /// What a stay at `station` adds, for each of the ascending `minutes`, when `before` was met
  /// earlier and `later` (means, rows as Met::mean) is met later: a rock that will be met elsewhere
  /// anyway is not gained here.
  GainRows gains_of_stay(std::size_t station, const Met& before, std::span<const float> later,
                         std::span<const double> minutes) const;

 private:
  /// A kind still wanted: worth still missing after a mean of μ met is e^−μ·Σ_j worth[j] μ^j, the
  /// number still missing e^−μ·Σ_j number[j] μ^j, and the chance of still wanting more e^−μ·Σ_j
  /// open[j] μ^j.
  struct Kind {
    std::size_t handed_in = 0;  ///< index among the kinds handed in
    std::vector<float> worth, number, open;
  };

  const float* rates(std::size_t station, std::size_t kind) const {
    return rate_.data() + (station * kinds_.size() + kind) * row_;
  }

  std::size_t kinds_handed_in_ = 0;
  std::size_t draws_ = 0;
  std::size_t row_ = 0;  ///< draws, padded
  std::size_t stations_ = 0;
  std::vector<Kind> kinds_;
  std::vector<float> rate_;      ///< met per minute of looking: station, kind, draw
  std::vector<float> handling_;  ///< minutes per sample: draw
};

}  // namespace stonecall::advise
