#include "console/advise/turn_back_now.hpp"

#include <algorithm>
#include <vector>

#include "console/advise/turn_back.hpp"
#include "console/advise/way_back.hpp"

namespace stonecall::advise {
namespace {

using picture::Picture;
using protocol::Plan;

/// `from` is the station the legs are reckoned from.
std::optional<TurnBack> turn_back_along(const Plan& plan, const std::string& from,
                                        const std::vector<Leg>& legs) {
  if (legs.empty()) return std::nullopt;
  const auto times = turn_back_times(legs, walking_pace(plan), plan.duration_minutes,
                                     {plan.link.delay_seconds / 60, plan.link.reaction_minutes});
  if (!times) return std::nullopt;
  return TurnBack{from,
                  length_of(legs),
                  times->walk_minutes,
                  plan.walking.margin_percent,
                  protocol::from_minutes(times->latest_departure),
                  protocol::from_minutes(times->latest_useful_call)};
}

std::optional<TurnBack> turn_back_from(const Plan& plan, const std::string& station) {
  return turn_back_along(plan, station, legs_through(way_back(plan, station)));
}

bool is_earlier(const std::optional<TurnBack>& a, const std::optional<TurnBack>& b) {
  return a && (!b || a->latest_departure < b->latest_departure);
}

/// Who walks, and left `from` so long ago: nobody knows how far they have come, so the farther of
/// the two ends of the walk is the safer one to reckon from. Who has been under way for longer than
/// the next stop takes may have passed it by for one beyond: these count too, but nobody is farther
/// from home than back to `from` by the way they came, and home from there.
std::optional<TurnBack> turn_back_on_the_way(const Picture& picture, const std::string& from,
                                             double minutes_walked) {
  const Plan& plan = *picture.plan;
  auto back = turn_back_from(plan, from);
  const auto ahead = stations_ahead(picture, from);
  if (ahead.empty()) return back;
  if (auto next = turn_back_from(plan, ahead.front()); is_earlier(next, back)) back = next;
  const auto to_next =
      walking_minutes(legs_through(way_to(plan, from, ahead.front())), walking_pace(plan));
  if (!to_next || minutes_walked <= *to_next) return back;
  auto by_the_way_they_came = legs_through(way_back(plan, from));
  by_the_way_they_came.push_back({minutes_walked / 60 * plan.walking.speed_kmh * 1000, {}});
  for (const auto& stop : ahead) {
    auto beyond = turn_back_from(plan, stop);
    const auto nearer = turn_back_along(plan, stop, by_the_way_they_came);
    if (is_earlier(beyond, nearer)) beyond = nearer;
    if (is_earlier(beyond, back)) back = beyond;
  }
  return back;
}

}  // namespace

std::optional<TurnBack> turn_back_at(const Picture& picture, Instant now) {
  const auto* last = picture::last_visit(picture, now);
  if (!picture.plan || !last || last->station == picture.plan->base.station) return std::nullopt;
  // Where a place that the plan does not know lies nobody can say: there they are taken to be on
  // the way still, after the last place that it knows.
  auto known = std::ranges::upper_bound(picture.visits, now, {}, &picture::Visit::arrived) - 1;
  while (known != picture.visits.begin() && !position_of(*picture.plan, known->station)) --known;
  const bool is_known = position_of(*picture.plan, known->station).has_value();
  const auto& from = is_known ? known->station : picture.plan->base.station;
  if (from == last->station && picture::visit_at(picture, now))
    return turn_back_from(*picture.plan, from);
  const Instant left = is_known ? known->left.value_or(known->arrived) : picture::start_of(picture);
  return turn_back_on_the_way(picture, from, protocol::in_minutes(now - left));
}

}  // namespace stonecall::advise
