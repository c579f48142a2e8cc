#include "console/advise/way_back.hpp"

#include <algorithm>
#include <numeric>

#include "console/estimate/geodesy.hpp"

namespace stonecall::advise {
namespace {

using protocol::Plan;
using protocol::PlannedStation;
using protocol::Position;

/// Index in the plan's order; the number of stations where it is the base or unknown.
std::size_t index_of(const Plan& plan, const std::string& station) {
  return static_cast<std::size_t>(
      std::ranges::find(plan.stations, station, &PlannedStation::station) - plan.stations.begin());
}

}  // namespace

std::optional<Position> position_of(const Plan& plan, const std::string& place) {
  if (place == plan.base.station) return plan.base.position;
  const std::size_t index = index_of(plan, place);
  if (index == plan.stations.size()) return std::nullopt;
  return plan.stations[index].position;
}

std::vector<Leg> legs_through(const std::vector<Position>& points) {
  std::vector<Leg> legs;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Position& from = points[i - 1];
    const Position& to = points[i];
    Leg leg;
    leg.distance_metres =
        estimate::distance_metres({from.latitude, from.longitude}, {to.latitude, to.longitude});
    if (from.height_metres && to.height_metres)
      leg.rise_metres = *to.height_metres - *from.height_metres;
    legs.push_back(leg);
  }
  return legs;
}

std::vector<Position> way_back(const Plan& plan, const std::string& station) {
  const std::size_t index = index_of(plan, station);
  if (index == plan.stations.size()) return {};
  std::vector<Position> points{plan.stations[index].position};
  points.insert(points.end(), plan.stations[index].back.begin(), plan.stations[index].back.end());
  points.push_back(plan.base.position);
  return points;
}

std::vector<Position> way_to(const Plan& plan, const std::string& from, const std::string& to) {
  const auto start = position_of(plan, from);
  const std::size_t index = index_of(plan, to);
  if (!start || index == plan.stations.size()) return {};
  const std::string& stop_before =
      index == 0 ? plan.base.station : plan.stations[index - 1].station;
  std::vector<Position> points{*start};
  if (from == stop_before) {
    points.insert(points.end(), plan.stations[index].way.begin(), plan.stations[index].way.end());
  }
  points.push_back(plan.stations[index].position);
  return points;
}

std::vector<std::string> stations_ahead(const picture::Picture& picture, const std::string& here) {
  std::vector<std::string> ahead;
  const auto& stations = picture.plan->stations;
  auto next = std::ranges::find(stations, here, &PlannedStation::station);
  if (next != stations.end()) ++next;
  // From a place that is not in the plan every station not visited yet is ahead.
  if (next == stations.end() && (stations.empty() || stations.back().station != here))
    next = stations.begin();
  for (; next != stations.end(); ++next) {
    const bool visited = std::ranges::find(picture.visits, next->station,
                                           &picture::Visit::station) != picture.visits.end();
    if (!visited) ahead.push_back(next->station);
  }
  return ahead;
}

WalkingPace walking_pace(const Plan& plan) {
  return {plan.walking.speed_kmh, plan.walking.margin_percent / 100, plan.walking.use_heights};
}

double length_of(const std::vector<Leg>& legs) {
  return std::accumulate(legs.begin(), legs.end(), 0.0,
                         [](double sum, const Leg& leg) { return sum + leg.distance_metres; });
}

}  // namespace stonecall::advise
