#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "console/advise/allocation.hpp"

/// The long way round: each draw on its own, closed forms, bisection, and every plan there is.
/// Small cases only.
namespace stonecall::advise {

struct LongWayRound {
  const std::vector<Wanted>& kinds;
  const std::vector<Draw>& draws;
  const Journey& journey;

  /// Means met after a stay, by bisection on look-time.
  static void stay(const std::vector<Wanted>& kinds, const std::vector<double>& shares,
                   const Draw& draw, double minutes, std::vector<double>& met) {
    if (minutes <= 0) return;
    const auto met_after = [&](double look, std::size_t k) {
      return met[k] + draw.looks_per_minute * shares[k] * look;
    };
    const auto clock = [&](double look) {
      double taken = 0;
      for (std::size_t k = 0; k < kinds.size(); ++k) {
        if (kinds[k].weight <= 0) continue;
        const int open = std::max(0, kinds[k].number - kinds[k].have);
        taken += expected_taken(met_after(look, k), open) - expected_taken(met[k], open);
      }
      return look + draw.handling_minutes * taken;
    };
    double low = 0, high = minutes;
    for (int i = 0; i < 30; ++i)
      (clock((low + high) / 2) < minutes ? low : high) = (low + high) / 2;
    for (std::size_t k = 0; k < kinds.size(); ++k) met[k] = met_after(low, k);
  }

  /// Mean gain of leaving after `leave` minutes and staying so long at each station ahead (0:
  /// passed by).
  double gain(int leave, const std::vector<int>& stays) const {
    double sum = 0;
    for (const Draw& draw : draws) {
      std::vector<double> met(kinds.size(), 0.0);
      stay(kinds, draw.here, draw, leave - journey.owed_minutes, met);
      for (std::size_t s = 0; s < stays.size(); ++s)
        stay(kinds, draw.ahead[s], draw, stays[s], met);
      for (std::size_t k = 0; k < kinds.size(); ++k) sum += expected_worth(met[k], kinds[k]);
    }
    return sum / static_cast<double>(draws.size());
  }

  bool fits(int leave, const std::vector<int>& stays) const {
    double left = journey.minutes_left - leave;
    int place = -1;
    for (int s = 0; s < static_cast<int>(stays.size()); ++s) {
      if (stays[static_cast<std::size_t>(s)] == 0) continue;
      const StationAhead& station = journey.ahead[static_cast<std::size_t>(s)];
      left -= place < 0 ? station.from_here : station.from_earlier[static_cast<std::size_t>(place)];
      left -= stays[static_cast<std::size_t>(s)];
      place = s;
    }
    return left >= (place < 0 ? journey.base_from_here
                              : journey.ahead[static_cast<std::size_t>(place)].to_base);
  }

  /// Best mean gain over all stays, for a departure.
  double best_gain(int leave) const {
    double best = -1;
    std::vector<int> stays(journey.ahead.size(), 0);
    const int longest = static_cast<int>(journey.minutes_left);
    while (true) {
      if (fits(leave, stays)) best = std::max(best, gain(leave, stays));
      std::size_t s = 0;
      while (s < stays.size() && ++stays[s] > longest) stays[s++] = 0;
      if (s == stays.size()) return best;
    }
  }
};

}  // namespace stonecall::advise
