#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "protocol/fault.hpp"

/// When the party must turn back. An aid: the field leader's judgement and local safety rules
/// govern.
namespace stonecall::advise {

/// Stands beside every turn-back figure on the desk and in the report.
inline constexpr std::string_view turn_back_caution =
    "An aid only: the field leader's judgement and local safety rules govern. "
    "The figures know nothing of ground, weather, light, load or injury.";

/// Stands beside walking times by heights.
inline constexpr std::string_view heights_caution =
    "Walking times by heights are for fit walkers on a path; rough ground takes longer.";

/// A straight piece of the way.
struct Leg {
  double distance_metres = 0;  ///< on the map, at least 0
  std::optional<double>
      rise_metres;  ///< end above start; none: heights unknown, walked at plan speed
};

struct WalkingPace {
  double speed_kmh = 3;      ///< above 0
  double margin = 0.2;       ///< part added to every walking time, at least 0
  bool use_heights = false;  ///< Tobler's function where the rise is known
};

/// 6·exp(−3.5·|slope + 0.05|) km/h, slope = rise over map distance. Tobler, W. (1993) Three
/// presentations on geographical analysis and modeling, NCGIA Technical Report 93-1. Slopes beyond
/// ±1 are taken as ±1: nobody walks there, and the figure must stay a figure.
double tobler_speed_kmh(double slope);

/// Minutes to walk the legs, without margin. By heights, a leg steeper than one in one is walked in
/// bends of one in one, as long as it is high: what it climbs takes its time however short it is on
/// the map. Faults: a distance, rise or speed that is not finite or out of range, named as
/// "legs[2].distance_metres".
protocol::Result<double> walking_minutes(std::span<const Leg> legs, const WalkingPace& pace);

struct LinkTimes {
  double delay_minutes = 0;     ///< one way
  double reaction_minutes = 3;  ///< from hearing a call to walking off
};

/// All times in minutes from the start of the exercise.
struct TurnBackTimes {
  double walk_minutes = 0;  ///< without margin
  double margin_minutes = 0;
  double latest_departure = 0;    ///< negative: never possible
  double latest_useful_call = 0;  ///< sent later, the party hears it too late to leave in time
};

/// `back_at_minutes`: when the party must be at base. Faults as for walking_minutes.
protocol::Result<TurnBackTimes> turn_back_times(std::span<const Leg> way_back,
                                                const WalkingPace& pace, double back_at_minutes,
                                                const LinkTimes& link);

}  // namespace stonecall::advise
