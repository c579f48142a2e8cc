#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

constexpr double most_rocks = 10000;

struct Total {
  At first = -1;  ///< −1: none was said
  At last = -1;
  int rocks = 0;
  bool of = false;   ///< "out of ten": may be a share
  bool row = false;  ///< "twenty in a row"
};

struct Entry {
  std::size_t rock = 0;
  int count = 0;
  At first = 0;
  At last = 0;
};

bool whole(const Draft& draft, At i) {
  const Item& item = draft.at(i);
  return item.number() && !item.used && !item.mutes && item.low == std::floor(item.low) &&
         item.low <= most_rocks;
}

bool measured(const Draft& draft, At i) {
  const Item& next = draft.at(i + 1);
  return next.is(Sense::unit) || next.is(Sense::percent) ||
         (next.is("by") && draft.at(i + 2).number()) ||
         next.any_of({"minutes", "minute", "hours", "seconds", "o'clock", "degrees", "metres",
                      "kilometres", "miles", "times", "steps", "paces"});
}

At skip_kind_words(const Draft& draft, At i) {
  // "ten of them were the granite"
  if (draft.at(i).is("of") && draft.at(i + 1).any_of({"them", "these", "those"})) i += 2;
  if (draft.at(i).is("for") && draft.at(i + 1).rock()) ++i;  // "seven for granite"
  const auto little = {Sense::is,         Sense::preposition, Sense::piece,  Sense::colour,
                       Sense::texture,    Sense::shape,       Sense::filler, Sense::approx,
                       Sense::determiner, Sense::now};
  const At at = draft.skip(i, little);
  // "eight were actually chert"
  return at > i && draft.at(at).is("actually") ? draft.skip(at + 1, little) : at;
}

/// "All eight at my feet were slate": where they lay stands before what they were. The kind's
/// place, or i.
At behind_where(const Draft& draft, At i) {
  for (At k = i; k <= i + 5; ++k) {
    const Item& item = draft.at(k);
    if (item.is(Sense::is)) return skip_kind_words(draft, k);
    if (item.mark() || item.number() || item.rock() || item.is(Sense::conj) || item.is(Sense::but))
      break;
  }
  return i;
}

/// How many rocks were looked at, if it is said.
Total find_total(const Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    if (!whole(draft, i) || measured(draft, i) || draft.at(i).low < 2) continue;
    // "look two, nine schist …": which look
    if (draft.at(i - 1).is("look") && draft.at(i).low <= 20 &&
        (draft.at(i + 1).mark() || draft.at(i + 1).number() ||
         draft.at(i + 1).any_of({"all", "has", "is"})) &&
        draft.any(i + 1, draft.size() - 1, [](const Item& item) { return item.number(); }))
      continue;
    const int rocks = static_cast<int>(draft.at(i).low);
    const Item& before = draft.at(i - 1);
    const At noun = draft.skip(
        i + 1, {Sense::colour, Sense::texture, Sense::determiner, Sense::shape, Sense::filler});
    const bool pieces = draft.at(noun).is(Sense::piece) && !draft.at(noun + 1).is("of") &&
                        draft.at(noun).text != "bits" && draft.at(noun).text != "bit" &&
                        draft.at(noun).text != "chips";
    const bool opens = before.mark() || before.is(Sense::conj) || before.is(Sense::now) ||
                       before.any_of({"okay", "ok", "right", "so", "and", "another", "last look",
                                      "next look", "well", "here", "that's", "makes"}) ||
                       before.is(Sense::count) || before.is(Sense::look) ||
                       (before.is(Sense::restart) && pieces);
    // "in ten rocks", "all ten are basalt", "ten looked at", "that's ten"
    const bool in_front = (before.is("in") && draft.at(i - 2).mark()) ||
                          (before.is("all") && !draft.at(i - 2).is("and"));
    const bool looked_after = draft.at(i + 1).is(Sense::look) || draft.at(i + 1).is(Sense::count) ||
                              draft.at(i + 1).any_of({"checked", "examined", "turned over"});
    const bool sums_up = before.any_of({"that's", "makes", "making", "that makes", "total"}) &&
                         draft.at(i + 1).mark() && i > 3;
    // "that's a hundred in all"
    const bool in_all = (before.is("that's") || before.is("a")) && draft.at(i + 1).is("in") &&
                        draft.at(i + 2).is("all") && draft.at(i + 3).mark();
    if (in_all) return {i, i + 2, rocks, false, false};
    const bool row = draft.at(i + 1).is(Sense::in_a_row);
    const bool more = draft.at(i + 1).is("more");
    // "of ten rocks", "out of twenty five", "of the eight I kicked over", "a count of thirty"
    At of = i - 1;
    while (draft.at(of).is(Sense::determiner) ||
           draft.at(of).any_of({"first", "last", "next", "these", "those", "a", "total"}) ||
           draft.at(of).is(Sense::approx))
      --of;
    const bool out_of = draft.at(of).is("of") && (draft.at(of - 1).is("out"));
    const bool count_of =
        draft.at(of).is("of") &&
        (draft.at(of - 1).is(Sense::count) || draft.at(of - 1).is(Sense::look) ||
         draft.at(of - 1).any_of({"sample", "batch", "set", "total", "handful", "lot"}));
    const bool leading_of =
        draft.at(of).is("of") && (draft.at(of - 1).mark() || draft.at(of - 1).is(Sense::conj) ||
                                  draft.at(of - 1).any_of({"okay", "so", "right"}));
    const bool in_of = draft.at(of).is("of") && draft.at(of - 1).number();
    const bool ordinal = draft.any(of + 1, i - 1, [](const Item& item) {
      return item.any_of({"first", "last", "next", "another"});
    }) || draft.at(i - 1).is("another");
    const bool looked =
        before.is(Sense::count) || before.is(Sense::look) ||
        (before.comma() && draft.at(i - 2).is(Sense::count)) ||
        (before.comma() && draft.at(i - 2).is(Sense::look)) ||
        (before.any_of({"at"}) && draft.at(i - 2).is("looked")) || before.is(Sense::pick) ||
        before.any_of({"checked", "kicked over", "turned over", "examined", "sorted"});
    const bool list_after = draft.at(i + 1).mark() && draft.at(i + 1).kind == Item::Kind::mark &&
                            opens && whole(draft, i + 2) &&
                            skip_kind_words(draft, i + 3) < draft.size() &&
                            draft.at(skip_kind_words(draft, i + 3)).rock();
    const bool colon = draft.at(i + 1).text == ":" && draft.at(i + 1).kind == Item::Kind::mark;
    const bool kind_follows = draft.at(noun).rock();
    if (row) {
      return {i, i + 1, rocks, false, true};
    }
    if (kind_follows && !ordinal && !(looked && pieces)) {
      // "thirty two scoria in a row"
      if (draft.at(noun + 1).is(Sense::in_a_row)) return {i, noun + 1, rocks, false, true};
      if (!leading_of && !out_of) continue;
    }
    // "every one of the eight at my feet was slate"
    const bool every_of =
        draft.at(of).is("of") && (draft.at(of - 1).is(Sense::every) ||
                                  draft.at(of - 1).any_of({"all", "each", "every single one"}));
    if (every_of) return {of, pieces ? noun : i, rocks, false, false};
    if (out_of || leading_of || count_of || in_of)
      return {of, pieces ? noun : i, rocks, (out_of || in_of) && !ordinal, false};
    if ((opens || ordinal) && (pieces || more))
      return {i, pieces ? noun : i + 1, rocks, false, false};
    if (ordinal && !draft.at(i + 1).mark() &&
        (draft.at(noun).is(Sense::quantity) || draft.at(noun).is(Sense::is)))
      return {i, i, rocks, false, false};
    if (ordinal && (draft.at(i + 1).mark() || more || draft.at(i + 1).any_of({"i", "we", "that"})))
      return {i, i, rocks, false, false};
    if (looked || colon || list_after) return {i, pieces ? noun : i, rocks, false, false};
    const bool lay_somewhere =
        before.is("all") && draft.at(behind_where(draft, i + 1)).rock() && i + 1 < draft.size();
    if (in_front && (pieces || draft.at(i + 1).is(Sense::is) || lay_somewhere))
      return {i, pieces ? noun : i, rocks, false, false};
    if (looked_after && opens) return {i, i + 1, rocks, false, false};
    if (sums_up) return {i, i, rocks, false, false};
    const bool all_after = opens && draft.at(i + 1).kind == Item::Kind::mark &&
                           draft.at(i + 2).any_of({"all", "all but", "every one"});
    if (all_after) return {i, i, rocks, false, false};
    if (pieces && whole(draft, noun + 1)) return {i, noun, rocks, false, false};
  }
  return {};
}

class Counter {
 public:
  explicit Counter(Draft& draft) : draft_(draft) {}

  void run() {
    total_ = find_total(draft_);
    const bool said_count = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return (item.is(Sense::count) || item.is("look")) && !item.mutes;
    });
    const bool whole_look = draft_.any(0, draft_.size() - 1, [](const Item& item) {
      return item.is(Sense::row_is_all) || (item.is(Sense::every) && item.is("every one"));
    });
    if (total_.first < 0) find_sum();
    if (total_.first < 0 && !said_count && !whole_look) return;
    read_entries();
    if (total_.first >= 0) read_all();
    if (total_.first >= 0 && entries_.empty()) read_one_by_one();
    const bool kind_in_row = total_.row && total_.last - total_.first > 1;
    if (kind_in_row && !whole_look) return;  // "seven basalts in a row"
    if (kind_in_row)
      entries_ = {{draft_.at(total_.last - 1).index, total_.rocks, total_.first, total_.last}};
    if (entries_.empty()) return;
    int sum = 0;
    for (const Entry& entry : entries_) sum += entry.count;
    if (total_.first < 0) {
      if (entries_.size() < 2 && !whole_look) return;
      total_.rocks = sum;
      total_.first = entries_.front().first;
      total_.last = entries_.back().last;
    }
    // "nine out of ten are cinder" is a share.
    const bool share_like =
        total_.of && entries_.size() == 1 && !rest_ && (total_.rocks <= 10 || total_.rocks == 100);
    if (share_like || sum > total_.rocks) return;
    state();
  }

 private:
  /// "Fifteen, nine rhyolite, four tuff, two basalt", "ten in the water: rhyolite six, four tuff",
  /// "six rhyolite and four tuff, so ten": the number that is the sum of those with a kind.
  void find_sum() {
    constexpr int most_tried = 6;
    int tried = 0;
    for (At i = 0; i < draft_.size() && tried < most_tried; ++i) {
      if (!whole(draft_, i) || measured(draft_, i) || draft_.at(i).low < 2 ||
          draft_.at(i - 1).is("to"))
        continue;
      // "ten salt six gypsum four": the first may stand right before a kind
      const bool beside_kind = kind(i - 1) || kind(skip_kind_words(draft_, i + 1));
      if (beside_kind && tried > 0 && !(draft_.at(i - 1).mark() && draft_.at(i + 1).mark()))
        continue;
      ++tried;
      total_ = {i, i, static_cast<int>(draft_.at(i).low), false, false};
      read_entries();
      int sum = others_;
      for (const Entry& entry : entries_) sum += entry.count;
      const bool found = entries_.size() >= 2 && !rest_ && sum == total_.rocks;
      entries_.clear();
      others_ = 0;
      rest_ = false;
      if (found) return;
    }
    total_ = {};
  }

  bool in_total(At i) const { return total_.first >= 0 && i >= total_.first && i <= total_.last; }
  bool countable(At i) const { return whole(draft_, i) && !in_total(i) && !measured(draft_, i); }
  bool kind(At i) const {
    return draft_.at(i).rock() && !(draft_.at(i).mutes & ~(Item::denied | 0u)) &&
           !draft_.at(i).used;
  }

  /// Where the kind of the count at `i` may stand: right after it, or in "ten out of a dozen stones
  /// in the square are basalt" after the verb.
  At behind_total(At i) const {
    // "eighteen of the first twenty were basalt"
    if (total_.first == i + 1 && draft_.at(i + 1).is("of") && !total_.of) {
      const At verb = draft_.skip(total_.last + 1, {Sense::piece, Sense::filler});
      if (draft_.at(verb).is(Sense::is)) return verb + 1;
    }
    const bool out_of = total_.of && total_.first == i + 2 && draft_.at(i + 1).is("out");
    // "twelve out of fifteen granite and three slate"
    const At listed = skip_kind_words(draft_, total_.last + 1);
    if (out_of && draft_.at(listed).rock() && draft_.at(listed + 1).is(Sense::conj) &&
        whole(draft_, listed + 2))
      return listed;
    if (!out_of || total_.rocks <= 10 || total_.rocks == 100) return i + 1;
    for (At k = total_.last + 1; k <= total_.last + 6 && !draft_.at(k).mark(); ++k) {
      if (draft_.at(k).is(Sense::is) || draft_.at(k).is("for")) return k + 1;
    }
    return i + 1;
  }

  void take(std::size_t rock, int count, At first, At last) {
    for (Entry& entry : entries_) {
      if (entry.rock == rock) return;
    }
    entries_.push_back({rock, count, first, last});
  }

  /// "seven basalt, two scoria" or "quartzite nine, sandstone six".
  void read_entries() {
    const bool rocks_first = kinds_lead();
    for (At i = 0; i < draft_.size(); ++i) {
      if (in_total(i)) continue;
      if (!rocks_first && countable(i)) {
        const At at = skip_kind_words(draft_, behind_total(i));
        if (kind(at) && !in_total(at)) {
          take(draft_.at(at).index, static_cast<int>(draft_.at(i).low), i, at);
          i = at;
        } else if (draft_.at(i + 1).mark() ||
                   draft_.at(i + 1).any_of({"unknown", "other", "others", "dunno", "mystery"})) {
          others_ += static_cast<int>(draft_.at(i).low);
        } else if (draft_.at(i + 1).is(Sense::rest) ||
                   draft_.at(i + 1).any_of({"i", "i'm", "we", "something", "that", "which",
                                            "unidentified", "not", "unsure"}) ||
                   draft_.at(i + 1).is(Sense::cannot_tell) ||
                   draft_.at(i + 1).is(Sense::sees_not)) {
          others_ += static_cast<int>(draft_.at(i).low);
        }
      } else if (rocks_first && kind(i)) {
        At at = i + 1;
        while (draft_.at(at).is(Sense::is) || draft_.at(at).comma() ||
               draft_.at(at).is(Sense::filler))
          ++at;
        if (countable(at)) {
          take(draft_.at(i).index, static_cast<int>(draft_.at(at).low), i, at);
          i = at;
        } else if (draft_.at(at).is(Sense::rest)) {
          rest_of(i, at);
        }
      }
      if (rocks_first && countable(i)) {
        const At at = skip_kind_words(draft_, i + 1);
        if (counted_in_front(at))
          take(draft_.at(at).index, static_cast<int>(draft_.at(i).low), i, at);
      }
      // "and a quartzite", "the last one was quartz": one
      const bool last_one = draft_.at(i).is(Sense::one) && draft_.at(i).text.ends_with(" one");
      if (!rocks_first && !entries_.empty() &&
          (draft_.at(i).any_of({"a", "an", "another", "a single"}) || last_one)) {
        At at = draft_.skip(
            i + 1, {Sense::colour, Sense::texture, Sense::piece, Sense::preposition, Sense::shape});
        if (last_one)
          at = draft_.skip(i + 1, {Sense::is, Sense::determiner, Sense::soft_correction});
        if (draft_.at(at).any_of({"lone", "single", "solitary", "lonely", "stray"})) ++at;
        // "and there is a single basalt"
        const At before = draft_.at(i - 1).is(Sense::restart) ? i - 2 : i - 1;
        const bool listed = draft_.at(before).is(Sense::conj) || draft_.at(before).comma();
        if (kind(at) && listed && total_.first >= 0) take(draft_.at(at).index, 1, i, at);
      }
    }
    // "the rest are schist"
    if (total_.first < 0 || entries_.empty()) return;
    for (At i = 0; i < draft_.size(); ++i) {
      if (!draft_.at(i).is(Sense::rest)) continue;
      const At at = skip_kind_words(draft_, i + 1);
      if (kind(at)) rest_of(at, i);
    }
  }

  void rest_of(At rock, At word) {
    int sum = others_;
    for (const Entry& entry : entries_) sum += entry.count;
    if (total_.rocks <= sum) return;
    rest_ = true;
    take(draft_.at(rock).index, total_.rocks - sum, std::min(rock, word), std::max(rock, word));
  }

  /// A kind whose number stands before it, behind "and".
  bool counted_in_front(At rock) const {
    if (!kind(rock)) return false;
    for (At i = rock - 1; i >= rock - 4; --i) {
      if (countable(i))
        return (draft_.at(i - 1).is("and") || draft_.at(i - 1).comma()) &&
               skip_kind_words(draft_, i + 1) == rock && !draft_.at(rock + 1).number();
    }
    return false;
  }

  bool kinds_lead() const {
    At first_kind = -1;
    At first_number = -1;
    At last_kind = -1;
    At last_number = -1;
    for (At i = 0; i < draft_.size(); ++i) {
      if (in_total(i)) continue;
      // "basalt six, tuff four, the rest are schist"
      const bool of_rest =
          draft_.any(i - 3, i - 1, [](const Item& item) { return item.is(Sense::rest); });
      // "basalt six, tuff four and two pieces of schist"
      if (counted_in_front(i)) continue;
      if (kind(i) && !of_rest) {
        if (first_kind < 0) first_kind = i;
        last_kind = i;
      } else if (countable(i) && !counted_in_front(skip_kind_words(draft_, i + 1))) {
        if (first_number < 0) first_number = i;
        last_number = i;
      }
    }
    return first_kind >= 0 && first_number > first_kind && last_number > last_kind &&
           first_number - first_kind <= 3;
  }

  /// "all basalt", "every one of them scoria", "all schist except two, both granite", "all scoria
  /// bar one".
  void read_all() {
    if (!entries_.empty() && !(entries_.size() == 1 && has_exception())) return;
    for (At i = 0; i < draft_.size(); ++i) {
      const Item& item = draft_.at(i);
      const bool all =
          item.any_of({"all", "everything", "all of them", "each", "every one", "nothing but",
                       "every single one", "the lot", "all of it", "only"}) ||
          (item.is(Sense::every) && !item.is("each")) || item.is("both");
      if (!all) continue;
      // "all ten are basalt", "all of the last six were"
      const bool of_total = total_.first > i && total_.first <= i + 4 &&
                            draft_.at(draft_.skip(i + 1, {Sense::preposition, Sense::determiner}))
                                .any_of({"first", "last", "next"});
      const At behind = of_total || in_total(i + 1) ? total_.last + 1 : i + 1;
      const At at = behind_where(draft_, skip_kind_words(draft_, behind));
      // "all but two schist", "all bar one are schist"
      const bool exception_first =
          draft_.at(i).is("all but") || (draft_.at(i + 1).is(Sense::but) && whole(draft_, i + 2));
      if (exception_first) continue;
      if (!kind(at) || in_total(at)) continue;
      const std::size_t rock = draft_.at(at).index;
      int left_out = 0;
      for (At k = at + 1; k < draft_.size(); ++k) {
        if (!draft_.at(k).is(Sense::but)) continue;
        if (whole(draft_, k + 1))
          left_out = static_cast<int>(draft_.at(k + 1).low);
        else if (draft_.at(k + 1).is(Sense::determiner) || draft_.at(k + 1).is("for"))
          left_out = 1;
        break;
      }
      std::vector<Entry> others = std::move(entries_);
      entries_.clear();
      int other_sum = 0;
      for (const Entry& other : others) other_sum += other.count;
      if (left_out == 0) left_out = other_sum;
      take(rock, total_.rocks - left_out, i, at);
      exceptions(at + 1, rock, left_out);
      for (const Entry& other : others) take(other.rock, other.count, other.first, other.last);
      rest_ = true;
      return;
    }
    for (At i = 0; i < draft_.size(); ++i) {
      // "all but two were schist"
      const bool all_but =
          draft_.at(i).is("all but") ||
          (draft_.at(i).any_of({"all", "all of them"}) && draft_.at(i + 1).is(Sense::but));
      if (!all_but) continue;
      const At number = draft_.at(i).is("all but") ? i + 1 : i + 2;
      if (!whole(draft_, number)) continue;
      const At at = skip_kind_words(draft_, number + 1);
      if (!kind(at)) continue;
      const int left_out = static_cast<int>(draft_.at(number).low);
      const std::size_t rock = draft_.at(at).index;
      entries_.clear();
      take(rock, total_.rocks - left_out, i, at);
      exceptions(at + 1, rock, left_out);
      rest_ = true;
      return;
    }
  }

  /// "ten rocks: granite granite schist …", each named in turn
  void read_one_by_one() {
    std::map<std::size_t, Entry> by_kind;
    int named = 0;
    for (At i = total_.last + 1; i < draft_.size(); ++i) {
      if (!kind(i)) continue;
      ++named;
      Entry& entry =
          by_kind.try_emplace(draft_.at(i).index, Entry{draft_.at(i).index, 0, i, i}).first->second;
      ++entry.count;
      entry.last = i;
    }
    if (named != total_.rocks) return;
    for (const auto& [rock, entry] : by_kind) entries_.push_back(entry);
  }

  bool has_exception() const {
    return draft_.any(0, draft_.size() - 1, [](const Item& item) { return item.is(Sense::but); });
  }

  /// The kind of those left out, if one is named: "and the one was basalt", "both granite".
  void exceptions(At from, std::size_t rock, int left_out) {
    At other = -1;
    for (At i = from; i < draft_.size(); ++i) {
      if (!kind(i) || draft_.at(i).index == rock) continue;
      if (other >= 0) return;
      other = i;
    }
    if (other >= 0 && left_out > 0) take(draft_.at(other).index, left_out, other, other);
  }

  void state() {
    draft_.counts = true;
    draft_.propose(RocksLookedAt{total_.rocks}, total_.first, total_.last, 0.9);
    draft_.use(total_.first, total_.last);
    for (const Entry& entry : entries_) {
      const KnownRock& rock = draft_.matcher.rocks()[entry.rock];
      draft_.propose(RockCounted{rock.name, entry.count, rock.planned}, entry.first, entry.last,
                     0.9);
      for (At i = entry.first; i <= entry.last; ++i) {
        if (!draft_.at(i).rock()) draft_.edit(i).used = true;
      }
    }
  }

  Draft& draft_;
  Total total_;
  std::vector<Entry> entries_;
  int others_ = 0;
  bool rest_ = false;
};

}  // namespace

void read_tallies(Draft& draft) {
  if (draft.has_label(LabelSaid::Of::bag)) return;
  Counter(draft).run();
}

}  // namespace stonecall::reading
