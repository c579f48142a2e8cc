#include "console/debrief/unfolding.hpp"

#include <algorithm>
#include <unordered_map>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

namespace stonecall::debrief {
namespace {

using protocol::EventPtr;
using protocol::Uuid;

/// The event that this one is about: the note of a reading, the target of a correction.
const Uuid* about(const protocol::Event& event) {
  if (const auto* reading = std::get_if<protocol::Reading>(&event.body)) return &reading->note;
  return protocol::changed_by(event);
}

}  // namespace

Unfolding::Unfolding(std::vector<Timed> events) : events_(std::move(events)) {
  std::ranges::stable_sort(events_, {}, &Timed::first);
}

picture::PicturePtr Unfolding::by(Instant moment) {
  for (; next_ < events_.size() && events_[next_].first <= moment; ++next_)
    fold_.add(events_[next_].second);
  return fold_.picture();
}

Unfolding as_known(const std::vector<EventPtr>& events) {
  std::vector<Unfolding::Timed> timed;
  timed.reserve(events.size());
  for (const auto& event : events) timed.emplace_back(protocol::known_at(*event).instant, event);
  return Unfolding(std::move(timed));
}

Unfolding as_happened(const std::vector<EventPtr>& events, const picture::Picture& known) {
  std::unordered_map<Uuid, const protocol::Event*, boost::hash<Uuid>> by_id;
  for (const auto& event : events) by_id.emplace(event->id, event.get());
  for (const auto& line : known.heard) by_id[line.event->id] = line.event.get();
  std::vector<Unfolding::Timed> timed;
  timed.reserve(events.size());
  for (const auto& event : events) {
    const protocol::Event* root = by_id[event->id];
    // A correction of a correction of a reading is as deep as it goes; more is nobody's speech.
    for (int depth = 0; depth < 8 && about(*root); ++depth) {
      const auto target = by_id.find(*about(*root));
      if (target == by_id.end()) break;
      root = target->second;
    }
    timed.emplace_back(root->at.instant, event);
  }
  return Unfolding(std::move(timed));
}

}  // namespace stonecall::debrief
