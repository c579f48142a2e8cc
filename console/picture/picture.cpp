#include "console/picture/picture.hpp"

#include <algorithm>

namespace stonecall::picture {

namespace {

bool same(const EventPtr& one, const EventPtr& other) {
  return one == other || (one && other && *one == *other);
}

}  // namespace

bool ReadingMade::operator==(const ReadingMade& other) const {
  return id == other.id && reading == other.reading && from == other.from &&
         retracted == other.retracted && same(first, other.first);
}

bool HeardLine::operator==(const HeardLine& other) const {
  return same(event, other.event) && amended == other.amended && retracted == other.retracted &&
         readings == other.readings && same(first, other.first) && same(replaced, other.replaced);
}

Instant start_of(const Picture& picture) {
  if (picture.plan) return picture.plan->start.instant;
  return picture.heard.empty() ? Instant{} : picture.heard.front().event->at.instant;
}

const Visit* last_visit(const Picture& picture, Instant now) {
  const auto after = std::ranges::upper_bound(picture.visits, now, {}, &Visit::arrived);
  return after == picture.visits.begin() ? nullptr : &*std::prev(after);
}

const Visit* visit_at(const Picture& picture, Instant now) {
  const Visit* visit = last_visit(picture, now);
  return visit && (!visit->left || *visit->left > now) ? visit : nullptr;
}

Milliseconds time_at(const Picture& picture, const std::string& station, Instant now) {
  Milliseconds sum{};
  for (const auto& visit : picture.visits) {
    if (visit.station != station || visit.arrived > now) continue;
    sum += std::min(visit.left.value_or(now), now) - visit.arrived;
  }
  return sum;
}

std::optional<Instant> first_seen(const Picture& picture, const std::string& rock,
                                  const std::optional<std::string>& station) {
  std::optional<Instant> first;
  const auto met = [&](const std::string& where, Instant at) {
    if ((!station || where == *station) && (!first || at < *first)) first = at;
  };
  for (const auto& sample : picture.samples) {
    if (sample.rock == rock && !sample.statements.empty())
      met(sample.station, sample.statements.front().at);
  }
  for (const auto& look : picture.looks) {
    const auto counted = std::ranges::find(look.counts, rock, &protocol::RockCount::rock);
    if (counted != look.counts.end() && counted->count > 0) met(look.station, look.origin.at);
  }
  for (const auto& share : picture.shares) {
    if (share.rock == rock && share.high > 0) met(share.station, share.origin.at);
  }
  for (const auto& sighting : picture.sightings) {
    if (sighting.rock == rock && sighting.present) met(sighting.station, sighting.origin.at);
  }
  return first;
}

bool is_field(const Picture& picture, const std::string& sender) {
  if (!picture.plan) return true;
  const auto person = std::ranges::find(picture.plan->people, sender, &protocol::Person::name);
  return person == picture.plan->people.end() ? sender != picture.plan->base.station
                                              : person->role == protocol::Side::field;
}

namespace {

/// What is done at a desk as a rule: from somebody whom the plan does not name it is no word of the
/// field.
bool of_the_back_room(const protocol::Body& body) {
  return std::holds_alternative<protocol::Answer>(body) ||
         std::holds_alternative<protocol::Remark>(body) ||
         std::holds_alternative<protocol::Amend>(body) ||
         std::holds_alternative<protocol::Retract>(body) ||
         std::holds_alternative<protocol::Call>(body) ||
         std::holds_alternative<protocol::PlanGiven>(body);
}

}  // namespace

bool is_named(const Picture& picture, const std::string& sender) {
  return picture.plan && std::ranges::find(picture.plan->people, sender, &protocol::Person::name) !=
                             picture.plan->people.end();
}

bool speaks_for_field(const Picture& picture, const protocol::Event& event) {
  return is_field(picture, event.from) &&
         (!of_the_back_room(event.body) || is_named(picture, event.from));
}

bool is_word_of_field(const Picture& picture, const protocol::Event& event) {
  // A scribe in the back room writes down what the field says.
  const auto* note = std::get_if<protocol::VoiceNote>(&event.body);
  return note && note->speaker ? is_field(picture, *note->speaker)
                               : speaks_for_field(picture, event);
}

std::optional<Instant> last_word(const Picture& picture) {
  for (auto line = picture.heard.rbegin(); line != picture.heard.rend(); ++line) {
    const auto& event = *line->event;
    const bool housekeeping = std::holds_alternative<protocol::PlanGiven>(event.body) ||
                              std::holds_alternative<protocol::Call>(event.body);
    if (!housekeeping && is_word_of_field(picture, event)) return event.at.instant;
  }
  return std::nullopt;
}

std::vector<Outage> outages(const Picture& picture) {
  const double delay = picture.plan ? picture.plan->link.delay_seconds : 0;
  const Milliseconds allowed{static_cast<std::int64_t>((delay + 60) * 1000)};
  std::vector<Outage> late;
  std::vector<Instant> in_time;  // receipts
  for (const auto& line : picture.heard) {
    const auto& event = *line.event;
    if (!event.received || line.amended || !is_field(picture, event.from)) continue;
    if (event.received->instant - event.at.instant > allowed) {
      late.push_back({event.at.instant, event.received->instant});
    } else {
      in_time.push_back(event.received->instant);
    }
  }
  std::ranges::sort(in_time);
  // Where other words came through meanwhile the link was up; one sender was late.
  std::erase_if(late, [&](const Outage& each) {
    const auto next = std::ranges::upper_bound(in_time, each.from + allowed);
    return next != in_time.end() && *next < each.until;
  });
  std::ranges::sort(late, {}, &Outage::from);
  std::vector<Outage> merged;
  for (const auto& each : late) {
    if (!merged.empty() && each.from <= merged.back().until) {
      merged.back().until = std::max(merged.back().until, each.until);
    } else {
      merged.push_back(each);
    }
  }
  return merged;
}

}  // namespace stonecall::picture
