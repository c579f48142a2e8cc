#include "console/advise/turn_back.hpp"

#include <algorithm>
#include <cmath>
#include <string>

namespace stonecall::advise {
namespace {

using protocol::Fault;

bool is_at_least(double value, double least) {
  return std::isfinite(value) && value >= least;
}

}  // namespace

double tobler_speed_kmh(double slope) {
  return 6 * std::exp(-3.5 * std::abs(std::clamp(slope, -1.0, 1.0) + 0.05));
}

protocol::Result<double> walking_minutes(std::span<const Leg> legs, const WalkingPace& pace) {
  if (!std::isfinite(pace.speed_kmh) || pace.speed_kmh <= 0)
    return tl::unexpected(Fault{"speed_kmh", "must be a number above 0", {}});
  double minutes = 0;
  for (std::size_t i = 0; i < legs.size(); ++i) {
    const Leg& leg = legs[i];
    const std::string member = "legs[" + std::to_string(i) + "].";
    if (!is_at_least(leg.distance_metres, 0))
      return tl::unexpected(
          Fault{member + "distance_metres", "must be a number of at least 0", {}});
    if (leg.rise_metres && !std::isfinite(*leg.rise_metres))
      return tl::unexpected(Fault{member + "rise_metres", "must be a number", {}});
    const bool by_height = pace.use_heights && leg.rise_metres;
    const double metres =
        by_height ? std::max(leg.distance_metres, std::abs(*leg.rise_metres)) : leg.distance_metres;
    if (metres == 0) continue;
    const double speed_kmh =
        by_height ? tobler_speed_kmh(*leg.rise_metres / metres) : pace.speed_kmh;
    minutes += metres / 1000 / speed_kmh * 60;
  }
  if (!std::isfinite(minutes))
    return tl::unexpected(Fault{"speed_kmh", "too slow for the length of the way", {}});
  return minutes;
}

protocol::Result<TurnBackTimes> turn_back_times(std::span<const Leg> way_back,
                                                const WalkingPace& pace, double back_at_minutes,
                                                const LinkTimes& link) {
  if (!std::isfinite(back_at_minutes))
    return tl::unexpected(Fault{"back_at_minutes", "must be a number", {}});
  if (!is_at_least(pace.margin, 0))
    return tl::unexpected(Fault{"margin", "must be a number of at least 0", {}});
  if (!is_at_least(link.delay_minutes, 0) || !is_at_least(link.reaction_minutes, 0))
    return tl::unexpected(Fault{"link", "delay and reaction must be numbers of at least 0", {}});
  return walking_minutes(way_back, pace)
      .and_then([&](double walk) -> protocol::Result<TurnBackTimes> {
        TurnBackTimes times;
        times.walk_minutes = walk;
        times.margin_minutes = walk * pace.margin;
        times.latest_departure = back_at_minutes - walk - times.margin_minutes;
        times.latest_useful_call =
            times.latest_departure - link.delay_minutes - link.reaction_minutes;
        if (!std::isfinite(times.latest_useful_call))
          return tl::unexpected(
              Fault{"", "the way back takes longer than can be reckoned with", {}});
        return times;
      });
}

}  // namespace stonecall::advise
