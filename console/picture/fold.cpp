#include "console/picture/fold.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <limits>
#include <tuple>

#include "console/picture/state.hpp"

namespace stonecall::picture {
namespace {

using protocol::Amend;
using protocol::Event;
using protocol::Reading;
using protocol::Retract;
using protocol::VoiceNote;

/// Order of the fold: time, then the server's order, then anything that is the same everywhere.
using Key = std::tuple<Instant, std::uint64_t, Uuid>;

/// Events without a number were made here and have not reached the server yet: they come last.
std::uint64_t order_of(const Event& event) {
  return event.seq.value_or(std::numeric_limits<std::uint64_t>::max());
}

struct Entry {
  EventPtr raw;        ///< as it came
  EventPtr effective;  ///< after its amendments
  bool amended = false;
  bool retracted = false;
  bool placed = false;  ///< stands in the order
  Key key;
  Origin origin;
  std::string refusal;  ///< why an amendment could not be worked in
};

const Amend* amend_in(const Event& event) {
  if (const auto* amend = std::get_if<Amend>(&event.body)) return amend;
  const auto* reading = std::get_if<Reading>(&event.body);
  if (!reading || reading->outcome == protocol::Outcome::declined) return nullptr;
  return std::get_if<Amend>(&reading->fact);
}

/// A retraction works only on what the server had before it; so no two can take back each other.
bool precedes(const Event& target, const Event& retraction) {
  return std::tuple(order_of(target), target.at.instant, target.id) <
         std::tuple(order_of(retraction), retraction.at.instant, retraction.id);
}

struct Checkpoint {
  std::size_t position;  ///< entries folded
  State state;
};

constexpr std::size_t kStride = 64;

/// Checkpoints stand close together near the end, where late events land, and ever wider apart
/// before it.
bool keep_checkpoint(std::size_t position, std::size_t size) {
  const std::size_t back = (size - position) / (4 * kStride);
  const std::size_t stride = kStride * std::bit_floor(std::max<std::size_t>(back, 1));
  return position % stride == 0;
}

}  // namespace

struct Fold::Ledger {
  std::unordered_map<Uuid, Entry, boost::hash<Uuid>> entries;
  /// Alterations and readings by what they name, whether or not that has come yet.
  std::unordered_multimap<Uuid, Entry*, boost::hash<Uuid>> amends, retractions, readings;
  std::vector<Entry*> order;
  std::size_t clean =
      0;  ///< entries at the front of `order` that `state` has folded as they are now
  State state;
  std::vector<Checkpoint> checkpoints;
  PicturePtr finished;

  void add(EventPtr event) {
    auto [place, fresh] = entries.try_emplace(event->id);
    Entry& entry = place->second;
    if (!fresh) {
      // The server's copy of our own event brings its number.
      if (entry.raw->seq || !event->seq) return;
    }
    finished.reset();
    entry.raw = std::move(event);
    if (fresh) {
      if (const auto* retract = std::get_if<Retract>(&entry.raw->body))
        retractions.emplace(retract->target, &entry);
      if (const auto* reading = std::get_if<Reading>(&entry.raw->body))
        readings.emplace(reading->note, &entry);
      if (const auto* amend = amend_in(*entry.raw)) amends.emplace(amend->target, &entry);
    }
    refresh(entry, true);
  }

  Entry* find(const Uuid& id) {
    const auto found = entries.find(id);
    return found == entries.end() ? nullptr : &found->second;
  }

  /// Works out anew what an entry says and where it stands, and passes a change on to what hangs on
  /// it. Only a change is passed on, so entries that name each other come to rest.
  void refresh(Entry& entry, bool changed) {
    const EventPtr was = entry.effective;
    const bool was_retracted = entry.retracted;
    const Key was_key = entry.key;

    entry.retracted = false;
    for (auto [each, end] = retractions.equal_range(entry.raw->id); each != end; ++each) {
      const Entry& retraction = *each->second;
      if (!retraction.retracted && precedes(*entry.raw, *retraction.raw)) entry.retracted = true;
    }
    amend(entry);
    place(entry);

    changed = changed || was_retracted != entry.retracted || was_key != entry.key ||
              (was != entry.effective && *was != *entry.effective);
    if (!changed) return;
    if (const auto* retract = std::get_if<Retract>(&entry.raw->body))
      refresh_if_here(retract->target);
    if (const auto* change = amend_in(*entry.raw)) refresh_if_here(change->target);
    if (std::holds_alternative<VoiceNote>(entry.raw->body)) {
      for (auto [each, end] = readings.equal_range(entry.raw->id); each != end; ++each)
        refresh(*each->second, false);
    }
  }

  void refresh_if_here(const Uuid& id) {
    if (Entry* entry = find(id)) refresh(*entry, false);
  }

  void amend(Entry& entry) {
    entry.effective = entry.raw;
    entry.amended = false;
    entry.refusal.clear();
    std::vector<const Entry*> changes;
    for (auto [each, end] = amends.equal_range(entry.raw->id); each != end; ++each) {
      if (!each->second->retracted) changes.push_back(each->second);
    }
    if (changes.empty()) return;
    if (amend_in(*entry.raw) || std::holds_alternative<Retract>(entry.raw->body)) {
      entry.refusal = "an amendment can not be amended; retract it and send another";
      return;
    }
    std::ranges::sort(changes, {}, [](const Entry* each) { return each->key; });
    for (const Entry* change : changes) {
      auto result = protocol::amended(*entry.effective, amend_in(*change->raw)->changes);
      if (!result) {
        entry.refusal = protocol::to_string(result.error());
        continue;
      }
      entry.effective = std::make_shared<const Event>(std::move(*result));
      entry.amended = true;
    }
  }

  void place(Entry& entry) {
    const Event& event = *entry.effective;
    Origin origin{event.id, event.at.instant, event.from};
    if (const auto* reading = std::get_if<Reading>(&event.body)) {
      const Entry* note = find(reading->note);
      if (const auto* said = note ? std::get_if<VoiceNote>(&note->effective->body) : nullptr) {
        origin.at = note->effective->at.instant;
        origin.from = said->speaker.value_or(note->effective->from);
      }
    }
    entry.origin = std::move(origin);
    const Key key{entry.origin.at, order_of(event), event.id};
    if (entry.placed) {
      dirty(position_of(entry));
      if (key == entry.key) return;
      order.erase(order.begin() + static_cast<std::ptrdiff_t>(position_of(entry)));
    }
    entry.key = key;
    entry.placed = true;
    const auto where = position_of(entry);
    order.insert(order.begin() + static_cast<std::ptrdiff_t>(where), &entry);
    dirty(where);
  }

  std::size_t position_of(const Entry& entry) const {
    const auto found =
        std::ranges::lower_bound(order, entry.key, {}, [](const Entry* each) { return each->key; });
    return static_cast<std::size_t>(found - order.begin());
  }

  void dirty(std::size_t position) { clean = std::min(clean, position); }

  void settle() {
    // `state` may have folded past `clean`; then only a checkpoint gives an unspoilt start.
    if (folded > clean) {
      while (!checkpoints.empty() && checkpoints.back().position > clean) checkpoints.pop_back();
      if (checkpoints.empty()) {
        state = State{};
        folded = 0;
      } else {
        state = checkpoints.back().state;
        folded = checkpoints.back().position;
      }
    }
    while (folded < order.size()) {
      const Entry& entry = *order[folded];
      if (!entry.retracted) apply(state, *entry.effective, entry.origin);
      ++folded;
      if (folded % kStride == 0 && keep_checkpoint(folded, order.size()))
        checkpoints.push_back({folded, state});
    }
    std::erase_if(checkpoints, [&](const Checkpoint& each) {
      return !keep_checkpoint(each.position, order.size());
    });
    clean = order.size();
  }

  PicturePtr picture() {
    if (finished) return finished;
    settle();
    auto result = std::make_shared<Picture>(picture::finished(state));
    result->events = order.size();
    add_heard(*result);
    add_flags(*result);
    finished = std::move(result);
    return finished;
  }

  void add_heard(Picture& result) {
    std::unordered_map<Uuid, std::size_t, boost::hash<Uuid>> line_of;
    result.heard.reserve(order.size());
    for (const Entry* entry : order) {
      const Event& event = *entry->effective;
      if (const auto* reading = std::get_if<Reading>(&event.body)) {
        if (const auto note = line_of.find(reading->note); note != line_of.end()) {
          result.heard[note->second].readings.push_back(
              {event.id, *reading, event.from, entry->retracted});
          continue;
        }
      }
      if (std::holds_alternative<VoiceNote>(event.body))
        line_of.emplace(event.id, result.heard.size());
      result.heard.push_back({entry->effective, entry->amended, entry->retracted, {}});
    }
    for (auto& line : result.heard) {
      std::ranges::stable_sort(line.readings, {}, [](const ReadingMade& each) {
        return each.reading.words ? each.reading.words->begin
                                  : std::numeric_limits<std::uint32_t>::max();
      });
    }
  }

  void add_flags(Picture& result) {
    for (const Entry* entry : order) {
      const auto flag = [&](Flag::What what, std::string text) {
        result.flags.push_back({what, std::move(text), entry->raw->id});
      };
      if (!entry->refusal.empty()) flag(Flag::What::amendment_refused, entry->refusal);
      if (entry->retracted) continue;
      if (const auto* amend = amend_in(*entry->raw); amend && !find(amend->target)) {
        flag(Flag::What::no_such_target, "puts right an event that has not been heard");
      }
      if (const auto* retract = std::get_if<Retract>(&entry->raw->body);
          retract && !find(retract->target)) {
        flag(Flag::What::no_such_target, "takes back an event that has not been heard");
      }
    }
  }

  std::size_t folded = 0;  ///< entries that `state` has folded
};

Fold::Fold() : ledger_(std::make_unique<Ledger>()) {}
Fold::~Fold() = default;
Fold::Fold(Fold&&) noexcept = default;
Fold& Fold::operator=(Fold&&) noexcept = default;

void Fold::add(EventPtr event) {
  assert(event);
  ledger_->add(std::move(event));
}

void Fold::add(std::span<const EventPtr> events) {
  for (const auto& event : events) add(event);
}

PicturePtr Fold::picture() {
  return ledger_->picture();
}

PicturePtr fold(std::span<const EventPtr> events) {
  Fold fold;
  fold.add(events);
  return fold.picture();
}

std::vector<EventPtr> known_by(std::span<const EventPtr> events, Instant then) {
  std::vector<EventPtr> known;
  for (const auto& event : events) {
    if (event->received.value_or(event->at).instant <= then) known.push_back(event);
  }
  return known;
}

}  // namespace stonecall::picture
