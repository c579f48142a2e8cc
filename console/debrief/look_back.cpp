#include "console/debrief/look_back.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "console/advise/hindsight.hpp"
#include "console/advise/memory.hpp"
#include "console/advise/way_back.hpp"
#include "console/debrief/sample_place.hpp"
#include "console/debrief/unfolding.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::debrief {
namespace {

using picture::Picture;
using protocol::EventPtr;

protocol::Documentation standard_of(const Picture& picture) {
  return picture.plan ? picture.plan->documentation : protocol::Documentation{};
}

/// How many words from the field had been said and not received at a moment.
class OnTheWay {
 public:
  OnTheWay(const std::vector<EventPtr>& events, const Picture& picture) {
    for (const EventPtr& event : events) {
      if (!event->received || !picture::is_word_of_field(picture, *event)) continue;
      // A sender's clock may be ahead of the server's: such a word was never on its way.
      said_.push_back(std::min(event->at.instant, event->received->instant));
      received_.push_back(event->received->instant);
    }
    std::ranges::sort(said_);
    std::ranges::sort(received_);
  }

  std::size_t at(Instant moment) const {
    const auto by = [moment](const std::vector<Instant>& times) {
      return static_cast<std::size_t>(std::ranges::upper_bound(times, moment) - times.begin());
    };
    return by(said_) - by(received_);
  }

 private:
  std::vector<Instant> said_, received_;
};

std::vector<Stop> stops_of(const Picture& picture, Instant end, advise::Memory& memory) {
  std::vector<Stop> stops;
  const auto add = [&](const std::string& station) {
    Stop stop;
    stop.station = station;
    stop.stayed = picture::time_at(picture, station, end);
    for (const auto& visit : picture.visits)
      if (visit.station == station) stop.stays.push_back(visit);
    stop.ground = advise::assess_ground(picture, station, end, memory);
    for (const auto& kind : stop.ground.kinds) stop.documented += kind.documented;
    for (const auto& sample : picture.samples)
      if (sample.taken && sample.station == station) ++stop.bagged;
    stops.push_back(std::move(stop));
  };
  if (picture.plan) {
    const auto arrivals = planned_arrivals(*picture.plan);
    for (std::size_t i = 0; i < arrivals.size(); ++i) {
      add(picture.plan->stations[i].station);
      stops.back().planned_arrival = arrivals[i];
      stops.back().allotted_minutes = picture.plan->stations[i].allotted_minutes;
    }
  }
  const std::string base = picture.plan ? picture.plan->base.station : std::string{};
  for (const auto& visit : picture.visits) {
    if (visit.station != base &&
        std::ranges::find(stops, visit.station, &Stop::station) == stops.end())
      add(visit.station);
  }
  return stops;
}

CallThen call_then(const Picture& then, const picture::CallMade& call, advise::Memory& memory) {
  CallThen made;
  made.start = picture::start_of(then);
  if (const auto* visit = picture::visit_at(then, call.origin.at)) made.station = visit->station;
  made.then = advise::assess_with_advice(then, call.origin.at, memory);
  for (const auto& each : made.then.missing)
    made.lacked.push_back(plates::sample_name(then.samples[each.sample]) + " " +
                          plates::gaps_text(each.gaps));
  if (call.call.sample) {
    if (const auto* sample = sample_named(then, *call.call.sample))
      made.sample_lacked = picture::gaps(*sample, standard_of(then));
  }
  return made;
}

}  // namespace

std::vector<Milliseconds> planned_arrivals(const protocol::Plan& plan) {
  std::vector<Milliseconds> arrivals;
  double minute = 0;
  std::string from = plan.base.station;
  for (const auto& stop : plan.stations) {
    const auto walk = advise::walking_minutes(
        advise::legs_through(advise::way_to(plan, from, stop.station)), advise::walking_pace(plan));
    minute = stop.arrive_minutes.value_or(minute + walk.value_or(0));
    arrivals.push_back(protocol::from_minutes(minute));
    minute += stop.allotted_minutes;
    from = stop.station;
  }
  return arrivals;
}

const picture::CallMade& call_made(const Debrief& debrief, std::size_t call) {
  return debrief.picture->calls[debrief.calls[call].call];
}

std::size_t calls_to_hear(const Debrief& debrief) {
  return static_cast<std::size_t>(std::ranges::count_if(
      debrief.picture->calls,
      [](const picture::CallMade& each) { return !protocol::only_states_a_chance(each.call); }));
}

const Stop* stop_at(const Debrief& debrief, const std::string& station) {
  const auto found = std::ranges::find(debrief.stops, station, &Stop::station);
  return found == debrief.stops.end() ? nullptr : &*found;
}

std::optional<Instant> back_at_base(const Picture& picture) {
  if (!picture.plan || picture.visits.size() < 2) return std::nullopt;
  const auto& last = picture.visits.back();
  return last.station == picture.plan->base.station && !last.left ? std::optional(last.arrived)
                                                                  : std::nullopt;
}

Debrief look_back(const Material& material, const Progress& progress) {
  assert(!material.events.empty());
  Debrief debrief;
  debrief.name = material.name;
  debrief.faults = material.faults;
  debrief.picture = picture::fold(material.events);
  const Picture& picture = *debrief.picture;
  debrief.start = picture::start_of(picture);
  debrief.offset = local_offset(picture);
  debrief.end = material.events.front()->at.instant;
  for (const EventPtr& event : material.events) {
    ++debrief.kinds[std::string(protocol::kind_of(*event))];
    debrief.end = std::max({debrief.end, event->at.instant, protocol::known_at(*event).instant});
  }
  advise::Memory memory;
  debrief.last = advise::assess(picture, debrief.end, memory);
  debrief.stops = stops_of(picture, debrief.end, memory);
  debrief.learned = advise::learn(picture, memory);
  debrief.spoken = advise::shares_with_counts(picture, debrief.learned.patchiness);
  debrief.outages = picture::outages(picture);

  Unfolding known = as_known(material.events);
  const OnTheWay on_the_way(material.events, picture);
  for (std::size_t i = 0; i < picture.calls.size(); ++i) {
    const auto& call = picture.calls[i];
    const picture::PicturePtr then = known.by(call.origin.at);
    CallThen made = call_then(*then, call, memory);
    made.call = i;
    auto hindsight = advise::in_hindsight(*then, made.then, picture, memory);
    if (const auto& departure = hindsight.departure; departure && !departure->late)
      made.best_in_hindsight = call.origin.at + std::chrono::minutes(departure->best);
    made.advised_at_the_end = std::move(hindsight.advice);
    made.on_the_way = on_the_way.at(call.origin.at);
    made.followed = followed(picture, call, debrief.end);
    debrief.calls.push_back(std::move(made));
    if (progress) progress(i + 1, picture.calls.size());
  }
  return debrief;
}

}  // namespace stonecall::debrief
