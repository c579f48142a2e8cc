#include "console/picture/ledger.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <limits>
#include <tuple>
#include <unordered_map>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

namespace stonecall::picture {
namespace {

using protocol::Amend;
using protocol::Event;
using protocol::Reading;
using protocol::Retract;
using protocol::VoiceNote;

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
  FoldKey key;
  EventPtr said_in;                        ///< whose speaker counts: of a reading its note
  protocol::Apart<std::string> refusal{};  ///< why an amendment could not be worked in
};

/// There are as many entries as events: what can be put together again is not kept.
Origin origin_of(const Entry& entry) {
  const auto* note = std::get_if<VoiceNote>(&entry.said_in->body);
  const bool read = note && entry.said_in != entry.effective;
  return {entry.effective->id, std::get<0>(entry.key),
          read ? note->speaker.value_or(entry.said_in->from) : entry.said_in->from};
}

const Amend* amend_in(const Event& event) {
  if (const auto* amend = std::get_if<Amend>(&event.body)) return amend;
  const auto* reading = std::get_if<Reading>(&event.body);
  if (!reading || reading->outcome == protocol::Outcome::declined) return nullptr;
  return std::get_if<Amend>(&reading->fact);
}

/// What somebody took back counts for nothing, whichever of the two came first. Of retractions only
/// those that the server had before can be taken back, so that no two take back each other.
bool takes_back(const Event& retraction, const Event& target) {
  if (!std::holds_alternative<Retract>(target.body)) return true;
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

struct Ledger::Pages {
  FoldBase base;
  std::unordered_map<Uuid, Entry, boost::hash<Uuid>> entries;
  /// Alterations and readings by what they name, whether or not that has come yet.
  std::unordered_multimap<Uuid, Entry*, boost::hash<Uuid>> amends, retractions, readings;
  std::vector<Entry*> alterations;  ///< all amendments and retractions
  std::vector<Entry*> order;
  std::size_t clean =
      0;  ///< entries at the front of `order` that `state` has folded as they are now
  std::size_t folded = 0;  ///< entries that `state` has folded
  State state;
  std::vector<Checkpoint> checkpoints;
  PicturePtr finished;
  bool outgrown = false;

  explicit Pages(FoldBase from) : base(std::move(from)), state(base.state) {
    for (EventPtr& event : std::exchange(base.tail, {})) add(std::move(event));
  }

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
      const auto* amend = amend_in(*entry.raw);
      if (amend) amends.emplace(amend->target, &entry);
      if (amend || std::holds_alternative<Retract>(entry.raw->body)) alterations.push_back(&entry);
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
    const FoldKey was_key = entry.key;

    entry.retracted = false;
    for (auto [each, end] = retractions.equal_range(entry.raw->id); each != end; ++each) {
      const Entry& retraction = *each->second;
      if (!retraction.retracted && takes_back(*retraction.raw, *entry.raw)) entry.retracted = true;
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
    entry.refusal.reset();
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
    Instant at = event.at.instant;
    entry.said_in = entry.effective;
    if (const auto* reading = std::get_if<Reading>(&event.body)) {
      const Entry* note = find(reading->note);
      if (note && std::holds_alternative<VoiceNote>(note->effective->body)) {
        at = note->effective->at.instant;
        entry.said_in = note->effective;
      }
    }
    const FoldKey key{at, order_of(event), event.id};
    if (entry.placed) {
      dirty(position_of(entry));
      if (key == entry.key) return;
      order.erase(order.begin() + static_cast<std::ptrdiff_t>(position_of(entry)));
    }
    entry.key = key;
    entry.placed = true;
    if (base.last && key < *base.last) outgrown = true;
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
        state = base.state;
        folded = 0;
      } else {
        state = checkpoints.back().state;
        folded = checkpoints.back().position;
      }
    }
    while (folded < order.size()) {
      fold_into(state, *order[folded]);
      ++folded;
      if (folded % kStride == 0 && keep_checkpoint(folded, order.size()))
        checkpoints.push_back({folded, state});
    }
    std::erase_if(checkpoints, [&](const Checkpoint& each) {
      return !keep_checkpoint(each.position, order.size());
    });
    clean = order.size();
  }

  static void fold_into(State& state, const Entry& entry) {
    const Origin origin = origin_of(entry);
    hear(state, entry.effective, origin, {entry.amended ? entry.raw : nullptr, entry.retracted});
    if (!entry.retracted) apply(state, *entry.effective, origin);
  }

  /// A reading stands at its note's time: what happened at one time is not torn apart.
  bool may_be_cut(std::size_t position) const {
    return position > 0 &&
           std::get<0>(order[position - 1]->key) < std::get<0>(order[position]->key);
  }

  std::optional<FoldBase> base_before(std::span<const EventPtr> recent, std::size_t longest) {
    settle();
    std::size_t most = order.size();  // before the cut
    for (const EventPtr& event : recent)
      if (const Entry* entry = find(event->id)) most = std::min(most, position_of(*entry));
    if (most == order.size()) return std::nullopt;
    const auto tail_of = [&](std::size_t cut) { return order.size() - cut; };

    // A checkpoint that is a little too early costs less than to fold up to the latest cut.
    std::size_t cut = 0;
    const State* found = nullptr;
    const Checkpoint* before = nullptr;
    for (auto each = checkpoints.rbegin(); each != checkpoints.rend() && !found; ++each) {
      if (each->position > most) continue;
      if (tail_of(each->position) > longest) break;
      if (!before) before = &*each;
      if (!may_be_cut(each->position)) continue;
      cut = each->position;
      found = &each->state;
    }
    FoldBase result;
    if (found) {
      result.state = *found;
    } else {
      if (!before) return std::nullopt;
      cut = most;
      while (cut > before->position && !may_be_cut(cut)) --cut;
      if (cut <= before->position) return std::nullopt;
      result.state = before->state;
      for (std::size_t i = before->position; i < cut; ++i) fold_into(result.state, *order[i]);
    }

    const FoldKey& first = order[cut]->key;
    const auto of_the_base = [&](const Entry& entry) { return entry.key < first; };
    for (std::size_t i = cut; i < order.size(); ++i) {
      const Entry& entry = *order[i];
      for (const auto* alterations : {&amends, &retractions})
        for (auto [each, end] = alterations->equal_range(entry.raw->id); each != end; ++each)
          if (of_the_base(*each->second)) return std::nullopt;
      result.tail.push_back(entry.raw);
      const auto* retract = std::get_if<Retract>(&entry.raw->body);
      const auto* change = amend_in(*entry.raw);
      if (!retract && !change) continue;
      const Entry* target = find(retract ? retract->target : change->target);
      if (target && of_the_base(*target)) result.worked_in.push_back(entry.raw->id);
    }
    result.flags = flags(&first);
    result.events = base.events + cut;
    result.last = order[cut - 1]->key;
    return result;
  }

  PicturePtr picture() {
    if (finished) return finished;
    settle();
    auto result = std::make_shared<Picture>(picture::finished(state));
    result->events = base.events + order.size();
    for (Flag& each : flags()) result->flags.push_back(std::move(each));
    finished = std::move(result);
    return finished;
  }

  /// What is odd about alterations, in the order of the fold, before `end` if there is one.
  std::vector<Flag> flags(const FoldKey* end = nullptr) {
    std::vector<Entry*> odd = alterations;
    for (Entry* each : alterations) {
      for (const Uuid& target : named_by(*each->raw))
        if (Entry* altered = find(target)) odd.push_back(altered);
    }
    std::ranges::sort(odd, {}, [](const Entry* each) { return each->key; });
    odd.erase(std::ranges::unique(odd).begin(), odd.end());

    std::vector<Flag> result = base.flags;
    for (const Entry* entry : odd) {
      if (end && entry->key >= *end) break;
      const auto flag = [&](Flag::What what, std::string text) {
        result.push_back({what, std::move(text), entry->raw->id});
      };
      if (entry->refusal) flag(Flag::What::amendment_refused, *entry->refusal);
      if (entry->retracted ||
          std::ranges::find(base.worked_in, entry->raw->id) != base.worked_in.end())
        continue;
      if (const auto* amend = amend_in(*entry->raw); amend && !find(amend->target)) {
        flag(Flag::What::no_such_target, "puts right an event that has not been heard");
      }
      if (const auto* retract = std::get_if<Retract>(&entry->raw->body);
          retract && !find(retract->target)) {
        flag(Flag::What::no_such_target, "takes back an event that has not been heard");
      }
    }
    return result;
  }
};

Ledger::Ledger(FoldBase base) : pages_(std::make_unique<Pages>(std::move(base))) {}
Ledger::~Ledger() = default;
Ledger::Ledger(Ledger&&) noexcept = default;
Ledger& Ledger::operator=(Ledger&&) noexcept = default;

void Ledger::add(EventPtr event) {
  assert(event);
  pages_->add(std::move(event));
}

PicturePtr Ledger::picture() {
  return pages_->picture();
}

FoldBase Ledger::base() {
  pages_->settle();
  std::optional<FoldKey> last = pages_->base.last;
  if (!pages_->order.empty()) last = pages_->order.back()->key;
  return {pages_->state, pages_->flags(), pages_->base.events + pages_->order.size(), last};
}

std::optional<FoldBase> Ledger::base_before(std::span<const EventPtr> recent, std::size_t longest) {
  return pages_->base_before(recent, longest);
}

std::size_t Ledger::to_fold() const {
  return pages_->order.size() - pages_->clean;
}

bool Ledger::outgrown() const {
  return pages_->outgrown;
}

std::vector<Uuid> named_by(const Event& event) {
  std::vector<Uuid> named;
  if (const auto* amend = amend_in(event)) named.push_back(amend->target);
  if (const auto* retract = std::get_if<Retract>(&event.body)) named.push_back(retract->target);
  if (const auto* reading = std::get_if<Reading>(&event.body)) named.push_back(reading->note);
  return named;
}

}  // namespace stonecall::picture
