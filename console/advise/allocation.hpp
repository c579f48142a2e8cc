#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "console/advise/value.hpp"
#include "protocol/fault.hpp"

/// When to leave: the best use of the minutes left, here and at the stations ahead.
///
/// One draw fixes what nobody knows: the shares of the kinds here and ahead, the pace of looking,
/// the time a sample takes. In look-time u the party meets kind i Poisson(e·p_i·u) times and takes
/// what is still wanted; the clock shows u + h·E[taken]. For each minute at which the party could
/// leave, the best plan for the rest of the way is found (dynamic programming over the stations in
/// plan order, skipping allowed, on a one-minute grid, on the mean over the draws); then that
/// departure is valued under every draw. A kind met at several stations is paid for once: what one
/// station is expected to yield lowers what the others can still add.
///
/// Source: the marginal value theorem (Charnov 1976, Theoretical Population Biology 9:129–136) with
/// a finite horizon.
namespace stonecall::advise {

/// One joint guess of what is not known, as drawn from the posteriors.
struct Draw {
  std::vector<double> here;                ///< share of each kind at this station, fractions
  std::vector<std::vector<double>> ahead;  ///< the same for each station ahead
  double looks_per_minute = 2;
  double handling_minutes = 4;  ///< per sample taken
};

/// A station ahead and the ways to it; minutes include the safety margin. Infinity: no way.
struct StationAhead {
  double from_here = 0;
  std::vector<double>
      from_earlier;  ///< from each station ahead that is before this one in the plan
  double to_base = 0;
};

struct Journey {
  double minutes_left =
      0;  ///< until the party must be back at base; the return limit, never overdrawn
  double base_from_here = 0;  ///< walking minutes, margin included
  double owed_minutes =
      0;  ///< documentation still owed to samples in hand, done before more looking
  double acts_in_minutes =
      0;  ///< link delay and reaction: the party goes on here for so long whatever is said
  std::vector<StationAhead> ahead;  ///< in plan order
};

/// A stop of the plan that goes with a departure.
struct Stop {
  std::size_t station = 0;  ///< index into Journey::ahead
  int arrive = 0;           ///< minutes from now
  int minutes = 0;          ///< of stay
  bool operator==(const Stop&) const = default;
};

/// Leaving now against staying so much longer.
struct Alternative {
  int more_minutes = 0;
  double gain_now = 0;  ///< expected worth still to be gained if the party leaves as soon as it can
  double gain_staying = 0;      ///< the same if it stays so much longer
  double p_leaving_better = 0;  ///< part of the draws in which leaving gains more
};

/// One kind's part in the difference between two departures.
struct KindDifference {
  std::size_t kind = 0;
  double staying_adds =
      0;  ///< expected worth gained by staying to `best` (or, where leaving is best, by the longest
          ///< alternative) less that gained by leaving at once; negative: the kind is met ahead
};

/// Mean and central 80 % of the draws.
struct Band {
  double mean = 0;
  double low = 0;   ///< 10 %
  double high = 0;  ///< 90 %
};

/// Worth per minute around each whole minute; the two cross where leaving is best.
struct CrossingPoint {
  int minute = 0;  ///< from now
  Band here;       ///< gained by one more minute here
  Band elsewhere;  ///< lost of the rest of the plan by it
};

/// Worth gained from now to the end for each draw and departure: row d, column m holds draw d
/// leaving `earliest + m` minutes from now.
struct GainTable {
  std::size_t draws = 0;
  std::size_t departures = 0;
  std::vector<float> gains;

  std::span<const float> of_draw(std::size_t draw) const {
    return std::span(gains).subspan(draw * departures, departures);
  }
};

struct Departure {
  bool late = false;  ///< nothing can be decided: even a call now acts after the latest departure.
                      ///< The rest is empty
  int earliest = 0;   ///< minutes from now at which the party can leave if told now
  int latest = 0;     ///< the return limit allows no later departure
  int best = 0;       ///< minutes from now with the highest mean gain
  int best_low = 0;   ///< 10 % and 90 % of the draws' own best departures
  int best_high = 0;
  double gain = 0;    ///< expected worth gained from now to the end if the party leaves at `best`
  double p_best = 0;  ///< part of the draws in which `best` beats the other side: where leaving at
                      ///< once is best, the best stay of five minutes or more; else leaving at once
  std::vector<double> mean_gain;          ///< for each minute earliest … latest
  std::vector<Alternative> alternatives;  ///< 5, 10, 15 minutes more, as far as the limit allows
  std::vector<KindDifference> kinds;      ///< largest difference first
  std::vector<CrossingPoint> crossing;    ///< for each minute earliest … latest
  std::vector<Stop> stops;                ///< after leaving at `best`; empty: back to base
  std::vector<Stop> stops_if_leaving;     ///< after leaving at `earliest`
  GainTable table;
};

/// Plans and values every departure. Walking times are rounded up and minutes left down to whole
/// minutes. Draws beyond what is finite, or whose sizes do not fit the kinds and the journey, are a
/// fault; so are negative numbers. A journey of more than 1440 minutes is cut to that.
protocol::Result<Departure> best_departure(std::span<const Wanted> kinds,
                                           std::span<const Draw> draws, const Journey& journey);

}  // namespace stonecall::advise
