#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/advise/turn_back.hpp"
#include "console/picture/picture.hpp"
#include "protocol/plan.hpp"

/// Walking legs between the places of a plan.
namespace stonecall::advise {

/// Position of a station or of the base; none where the plan does not know it.
std::optional<protocol::Position> position_of(const protocol::Plan& plan, const std::string& place);

/// Straight legs on WGS-84 through the given points, with the rise where both heights are known.
std::vector<Leg> legs_through(const std::vector<protocol::Position>& points);

/// From a station back to base: through the plan's `back` points, else straight. Empty: unknown
/// place, or the base itself.
std::vector<protocol::Position> way_back(const protocol::Plan& plan, const std::string& station);

/// From one place to a station ahead: through the station's `way` points where it is the next stop
/// of the plan, else straight.
std::vector<protocol::Position> way_to(const protocol::Plan& plan, const std::string& from,
                                       const std::string& to);

/// The stations of the plan behind `here` that nobody has been to, in its order; all such where
/// `here` is the base or not in the plan. The picture has a plan.
std::vector<std::string> stations_ahead(const picture::Picture& picture, const std::string& here);

WalkingPace walking_pace(const protocol::Plan& plan);

/// Length in metres.
double length_of(const std::vector<Leg>& legs);

}  // namespace stonecall::advise
