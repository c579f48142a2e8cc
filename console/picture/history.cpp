#include "console/picture/history.hpp"

#include <algorithm>
#include <cassert>
#include <future>
#include <optional>
#include <span>
#include <unordered_map>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "console/picture/ledger.hpp"

namespace stonecall::picture {
namespace {

constexpr std::size_t most_marks = 128;
constexpr std::size_t least_stride = 256;

/// What the first `known` events came to. Those from `from` on may be altered by later ones.
struct Mark {
  std::size_t known = 0;
  std::size_t from = 0;
  FoldBase base;
};

/// A fold on top of a mark.
struct Near {
  std::size_t mark;   ///< events in its base
  std::size_t known;  ///< events in all
  Ledger ledger;
};

/// For each event the first one that a fold must hold to hold this one: itself, or an earlier one
/// that it names or that named it before it came, or that those need.
std::vector<std::size_t> needs_of(const std::vector<EventPtr>& events) {
  // What those need that are, or name, this id.
  std::unordered_map<Uuid, std::size_t, boost::hash<Uuid>> needed;
  std::vector<std::size_t> needs(events.size());
  for (std::size_t i = 0; i < events.size(); ++i) {
    std::vector<Uuid> ids = named_by(*events[i]);
    ids.push_back(events[i]->id);
    needs[i] = i;
    for (const Uuid& id : ids)
      needs[i] = std::min(needs[i], needed.try_emplace(id, i).first->second);
    for (const Uuid& id : ids) needed[id] = needs[i];
  }
  return needs;
}

}  // namespace

struct History::Pages {
  std::vector<EventPtr> events;
  /// Of each event, worked out beside the first pass; not asked for before needed().
  std::future<std::vector<std::size_t>> needs_to_come;
  std::vector<std::size_t> needs;
  std::size_t stride = least_stride;
  std::vector<Mark> marks{Mark{}};  ///< ascending; the first knows nothing
  /// Of the first `passed` events, making marks on its way; none once it came to the end, since it
  /// is as large as the log.
  std::optional<Ledger> pass{std::in_place};
  std::size_t passed = 0;
  PicturePtr last;  ///< of the first `passed` events, where the pass is gone
  std::optional<Near> near;
  std::size_t shown = 0;
  PicturePtr picture;

  explicit Pages(std::vector<EventPtr> all)
      : events(std::move(all)),
        needs_to_come(std::async(std::launch::async, [this] { return needs_of(events); })),
        stride(std::max(least_stride, events.size() / most_marks)) {}

  const std::vector<std::size_t>& needed() {
    if (needs_to_come.valid()) needs = needs_to_come.get();
    return needs;
  }

  void advance(std::size_t to) {
    if (!pass) begin_pass();
    while (passed < to) {
      pass->add(events[passed++]);
      if (marks.back().known < passed && (passed % stride == 0 || altered_long_before())) mark();
    }
    if (passed < events.size()) return;
    last = pass->picture();
    pass.reset();
  }

  /// What came altered what stands long before it. No mark made earlier can be built upon from then
  /// on, so one is made at once, and not again before some more have come.
  bool altered_long_before() const {
    const auto known = [&](std::size_t i) { return protocol::known_at(*events[i]).instant; };
    return pass->to_fold() > 4 * stride && passed - marks.back().known >= stride / 4 &&
           passed < events.size() && known(passed - 1) < known(passed);
  }

  /// Many name what came shortly before them: a reading its note, a correction what was just said.
  void mark() {
    const std::size_t from = passed - std::min(passed, stride);
    auto before = pass->base_before(std::span(events).subspan(from, passed - from), 8 * stride);
    if (before)
      marks.push_back({passed, from, std::move(*before)});
    else
      marks.push_back({passed, passed, pass->base()});
  }

  void begin_pass() {
    pass.emplace();
    passed = 0;
    last.reset();
  }

  /// The marks reach so far that nothing beyond them takes long to fold.
  bool prepared() const { return !pass && events.size() <= marks.back().known + 2 * stride; }

  /// Can the events from the mark on be folded without those before it?
  bool stands_alone(const Mark& mark, std::size_t known) {
    const std::vector<std::size_t>& first = needed();
    for (std::size_t i = mark.known; i < known; ++i) {
      if (first[i] < mark.from) return false;
      if (mark.base.last && events[i]->at.instant < std::get<0>(*mark.base.last)) return false;
    }
    return true;
  }

  PicturePtr from_marks(std::size_t known) {
    auto after = std::ranges::upper_bound(marks, known, {}, &Mark::known);
    while (after != marks.begin()) {
      const Mark& mark = *--after;
      if (!stands_alone(mark, known)) continue;
      if (!near || near->mark != mark.known || near->known > known)
        near.emplace(Near{mark.known, mark.known, Ledger(mark.base)});
      while (near->known < known) near->ledger.add(events[near->known++]);
      if (!near->ledger.outgrown()) return near->ledger.picture();
      near.reset();
    }
    assert(false);  // the first mark leaves out nothing
    return nullptr;
  }

  PicturePtr at(std::size_t known) {
    known = std::min(known, events.size());
    if (picture && shown == known) return picture;
    // A little beyond the last mark needs no pass; it may have to begin from the start.
    if (known >= passed && known > marks.back().known + 2 * stride) advance(known);
    if (known == passed)
      picture = pass ? pass->picture() : last;
    else
      picture = from_marks(known);
    shown = known;
    return picture;
  }

  void insert(std::size_t place, EventPtr event) {
    needed();  // the events are read for it
    events.insert(events.begin() + static_cast<std::ptrdiff_t>(place), std::move(event));
    needs = needs_of(events);
    std::erase_if(marks, [&](const Mark& mark) { return mark.known > place; });
    if (passed > place) begin_pass();
    if (near && near->known > place) near.reset();
    if (shown > place) picture.reset();
  }
};

History::History(std::vector<EventPtr> events)
    : pages_(std::make_unique<Pages>(std::move(events))) {}
History::~History() = default;
History::History(History&&) noexcept = default;
History& History::operator=(History&&) noexcept = default;

PicturePtr History::at(std::size_t known) {
  return pages_->at(known);
}

bool History::prepare(std::size_t most) {
  Pages& p = *pages_;
  if (p.prepared()) return false;
  if (!p.pass) p.begin_pass();
  p.advance(std::min(p.events.size(), p.passed + most));
  return !p.prepared();
}

void History::insert(std::size_t place, EventPtr event) {
  assert(event && place <= pages_->events.size());
  pages_->insert(place, std::move(event));
}

std::size_t History::size() const {
  return pages_->events.size();
}

}  // namespace stonecall::picture
