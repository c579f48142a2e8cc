#include <algorithm>
#include <optional>

#include "console/reading/motion.hpp"
#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;
using Kind = Item::Kind;

bool is_place(const Item& item) {
  return item.kind == Kind::station || item.kind == Kind::station_part;
}

bool heads_towards(const Draft& draft, At station) {
  // "the bend next", "moving face two"
  if (draft.at(station + 1).is("next") && draft.at(station + 2).mark()) return true;
  if (draft.at(station - 1).any_of({"moving", "next"})) return true;
  for (At k = station - 1; k >= 0 && k >= station - 3; --k) {
    const Item& item = draft.at(k);
    if (item.is(Sense::determiner)) continue;
    if (item.is(Sense::toward) || item.any_of({"up to", "down to", "over to"})) return true;
    // "moving on too the store"
    if (item.any_of({"too", "two"}) && draft.at(k - 1).is(Sense::leave)) return true;
    if (item.number() && item.low == 2 && draft.at(k - 1).is(Sense::leave)) return true;
    return item.is(Sense::leave) &&
           (item.text.ends_with(" for") || item.text.ends_with(" to") ||
            item.text.ends_with(" down") || item.text.ends_with(" up") ||
            item.text.ends_with(" on") || item.text.ends_with(" towards") ||
            item.text.ends_with(" over") || item.is("on our way"));
  }
  return false;
}

/// The place right after a verb of moving: "leaving the wash", "arrived at cone foot".
At place_after(const Draft& draft, At verb) {
  for (At k = verb + 1; k <= verb + 6; ++k) {
    const Item& item = draft.at(k);
    // "at the level, no, at the fold"
    if (is_place(item) && (item.mutes & Item::replaced)) {
      for (At later = k + 1; later <= k + 6; ++later) {
        if (is_place(draft.at(later)) && !draft.at(later).mutes) return later;
      }
    }
    if (is_place(item)) return k;
    if (item.stop() || item.is(Sense::toward) || item.rock()) return -1;
    if (item.comma() && k > verb + 1) return -1;
  }
  return -1;
}

At place_in(const Draft& draft, At first, At last) {
  for (At k = first; k <= last; ++k) {
    if (draft.at(k).kind == Kind::station) return k;
  }
  return -1;
}

bool negated(const Draft& draft, At verb) {
  return draft.any(verb - 4, verb - 1, [](const Item& item) {
    return item.is(Sense::sees_not) || item.is(Sense::not_) || item.is(Sense::wish);
  });
}

class Movements {
 public:
  explicit Movements(Draft& draft) : draft_(draft) {}

  void run() {
    leave_by_place();
    leave_by_word();
    for (At i = 0; i < draft_.size() && !left_; ++i) {
      const Item& item = draft_.at(i);
      if (item.mutes) continue;
      if (item.is(Sense::leave)) leave(i);
      if (item.is(Sense::finished)) finish(i);
    }
    if (left_) return;
    for (At i = 0; i < draft_.size(); ++i) {
      if (!draft_.at(i).mutes && draft_.at(i).is(Sense::arrive) && arrive(i)) return;
    }
    if (go_by_way()) return;
    arrive_by_name();
  }

 private:
  const std::string& name(At place) const {
    return draft_.matcher.stations()[draft_.at(place).index];
  }

  void state(What what, At verb, At place, double sureness) {
    draft_.propose(Happened{what}, verb, verb, sureness);
    if (place >= 0) {
      draft_.propose(AtStation{name(place), true}, place, place, sureness);
    } else if (what == What::leave && !draft_.context.station.empty()) {
      draft_.propose(AtStation{draft_.context.station, false}, verb, verb, sureness * 0.8);
    }
  }

  /// What leads up to a place: the word that governs it, and how it points there.
  struct Approach {
    At head = -1;  ///< −1: the beginning of the note
    Way way = Way::none;
  };

  Approach approach(At place) const {
    Approach found{place - 1, Way::none};
    for (; found.head >= 0 && place - found.head <= 8; --found.head) {
      const Item& item = draft_.at(found.head);
      if (item.mark()) return found;
      const bool out_of = item.is("of") && draft_.at(found.head - 1).is("out");
      const Way way = out_of ? Way::from : way_of(item);
      const bool goes = item.is(Sense::leave) || item.is(Sense::arrive) || item.is(Sense::finished);
      const bool verb =
          motion_of(item) != Motion::none || (goes && way == Way::none) || is_party_is(item);
      if (found.way == Way::none && way != Way::none) found.way = way;
      if (verb || (way == Way::none && !is_particle(item))) return found;
    }
    return found;
  }

  /// "we're", "we are", "that's us", "party is"
  bool is_party_is(const Item& item) const {
    if (item.is(Sense::arrive) && item.text.starts_with("we")) return true;  // "we're in"
    return item.any_of({"we're", "we are", "i'm", "i am", "that's us", "we", "party is", "that's",
                        "feet", "boots"});
  }

  /// Whether the party itself moves: nothing stands before the verb that could move instead.
  bool party_moves(At verb) const {
    At before = verb - 1;
    while (is_particle(draft_.at(before)) || motion_of(draft_.at(before)) != Motion::none ||
           draft_.at(before).is("getting") || draft_.at(before).is(Sense::is))
      --before;
    const Item& subject = draft_.at(before);
    return subject.mark() || is_party(subject) || subject.is(Sense::conj) ||
           subject.is(Sense::but) || subject.is(Sense::finished) ||
           std::ranges::find(draft_.context.party, subject.text) != draft_.context.party.end();
  }

  /// "Heading off the ledge in a minute or two", "leaving the ledge in about five".
  bool only_later(At verb) const {
    for (At k = verb + 1; k <= draft_.clause_end(verb); ++k) {
      const Item& item = draft_.at(k);
      if (item.rock() || item.is(Sense::bag) || item.is(Sense::sample)) return false;
      if (item.any_of({"in a minute", "in a moment", "in five minutes", "in ten minutes", "shortly",
                       "soon"}) ||
          (item.any_of({"in", "within"}) && so_long(k + 1)))
        return true;
    }
    return false;
  }

  /// "about five", "another couple of minutes", "the next minute": up to an hour, from an item on.
  bool so_long(At i) const {
    const auto minutes = [&](At k) {
      return draft_.at(k).any_of({"minutes", "minute", "few minutes", "a few minutes"});
    };
    while (draft_.at(i).is(Sense::approx) || draft_.at(i).is(Sense::determiner) ||
           draft_.at(i).is(Sense::at_most) || draft_.at(i).is(Sense::less) ||
           draft_.at(i).comma() || draft_.at(i).any_of({"a", "next", "say", "maybe", "or"}))
      ++i;
    if (minutes(i)) return true;
    const Item& length = draft_.at(i);
    if (!length.number() && !length.is(Sense::quantity)) return false;
    return minutes(i + 1) || (length.number() && length.low <= 60 && draft_.at(i + 1).mark());
  }

  /// "When we walked up onto the ridge": of another moment.
  bool told_of_a_time(At verb) const {
    return draft_.any(verb - 4, verb - 1, [](const Item& item) {
      return item.any_of({"when", "once", "before", "until", "if", "after", "since", "where"});
    });
  }

  /// What is ahead, or behind, is no place where the party is.
  bool seen_only(At place, At last) const {
    return draft_.any(place + 1, last, [](const Item& item) {
      return item.is(Sense::wish) || item.is(Sense::asks) || item.is(Sense::asks_anywhere) ||
             item.is(Sense::finished) ||
             item.any_of({"in sight", "sight", "ahead", "behind", "away", "next", "later", "soon",
                          "looks", "visible", "view", "first", "if", "minutes", "over there",
                          "up there", "down there", "there", "from here"});
    });
  }

  /// Last item before the next "and", within the clause.
  At phrase_end(At place) const {
    At last = place;
    while (last < draft_.clause_end(place) && !draft_.at(last + 1).is("and")) ++last;
    return last;
  }

  /// Goes by the verb of motion and the preposition before a place, whichever they are: "walked up
  /// onto the pan", "trudging across to the barn", "just come off the weir", "we're in under the
  /// breakaway".
  bool go_by_way() {
    const std::string& here = draft_.context.station;
    for (At place = 0; place < draft_.size(); ++place) {
      const Item& named = draft_.at(place);
      if (!is_place(named) || named.mutes) continue;
      // "edge to shaft, ten minutes"
      if (draft_.at(place + 1).is("to")) {
        const At other = draft_.skip(place + 2, {Sense::determiner});
        if (is_place(draft_.at(other)) && (here.empty() || name(place) == here)) {
          state(What::leave, place, place, 0.7);
          return true;
        }
      }
      const Approach led = approach(place);
      const Item& head = draft_.at(led.head);
      if (led.head >= 0 && (head.mutes || negated(draft_, led.head) || told_of_a_time(led.head)))
        continue;
      const bool opens = led.head < 0 || head.mark();
      const Motion motion = opens ? Motion::none : motion_of(head);
      const At verb = opens ? led.head + 1 : led.head;
      const bool whole_name = named.kind == Kind::station;
      if (motion == Motion::going && only_later(led.head)) continue;
      if (motion != Motion::none && party_moves(led.head)) {
        if (led.way == Way::from) {
          state(What::leave, verb, place, 0.8);
          return true;
        }
        if (motion == Motion::over && led.way != Way::none && name(place) != here &&
            !seen_only(place, phrase_end(place))) {
          state(What::arrive, verb, place, 0.8);
          return true;
        }
        if (motion == Motion::going && led.way == Way::toward && name(place) != here) {
          state(What::leave, verb, -1, 0.7);
          return true;
        }
      }
      if (!whole_name && name(place) != here) continue;
      const bool party_is =
          is_party_is(head) && (!head.is("that's") || draft_.at(led.head + 1).is("us"));
      if (party_is && led.way == Way::from) {
        state(What::leave, verb, place, 0.8);
        return true;
      }
      if (party_is && led.way == Way::located && name(place) != here &&
          !seen_only(place, phrase_end(place))) {
        state(What::arrive, verb, place, 0.8);
        return true;
      }
      // "Off from the bridge."
      const bool stated = draft_.any(0, draft_.size() - 1, [](const Item& item) {
        return item.rock() || item.is(Sense::pick) || item.is(Sense::sample);
      });
      if (opens && led.way == Way::from && !stated && (here.empty() || here == name(place)) &&
          draft_.at(verb).any_of(
              {"off from", "off", "away", "out", "out of", "from", "away from"})) {
        state(What::leave, verb, place, 0.7);
        return true;
      }
      // "on top of the ridge now", "under the arch.": a place, and that it is now, or no more
      const bool ends = draft_.at(place + 1).mark() && place + 2 >= draft_.size();
      if (opens && led.way == Way::located && (ends || draft_.at(place + 1).is(Sense::now)) &&
          name(place) != here && !stated) {
        state(What::arrive, verb, place, 0.7);
        return true;
      }
      // "Here's the shaft."
      const bool shown = head.any_of({"here's", "here is", "here we are", "that's", "that is",
                                      "this is", "it's"}) &&
                         led.way != Way::toward && led.way != Way::from &&
                         draft_.at(led.head - 1).mark();
      // "The barn, both of us."
      const bool named_first =
          opens && led.way == Way::none && draft_.at(place + 1).comma() && !stated;
      if ((shown || named_first) && here.empty() && !seen_only(place, draft_.sentence_end(place))) {
        state(What::arrive, verb, place, 0.7);
        return true;
      }
      // "... , next stop the pan"
      const bool next = opens && draft_.at(verb).is("next stop");
      if (next && !stated && !here.empty() && name(place) != here) {
        state(What::leave, verb, -1, 0.7);
        return true;
      }
    }
    return false;
  }

  /// "Out of the cave, on to the gully", "on to the gully, out"
  void leave_by_place() {
    const At first = draft_.skip(0, {Sense::filler, Sense::conj, Sense::now});
    if (draft_.at(first).mutes) return;
    const bool from = draft_.at(first).is("out") && draft_.at(first + 1).is("of");
    const bool to = (draft_.at(first).is("on") && draft_.at(first + 1).is("to")) ||
                    draft_.at(first).any_of({"on to", "onto", "onwards to", "onward to"});
    if (!from && !to) return;
    const At behind = draft_.at(first + 1).any_of({"of", "to"}) ? first + 2 : first + 1;
    const At place = draft_.skip(behind, {Sense::determiner});
    if (draft_.at(place).kind != Kind::station) return;
    const Item& next = draft_.at(place + 1);
    if (!next.mark() && !next.is(Sense::now) && !next.is(Sense::conj) && !next.is(Sense::toward) &&
        !next.is(Sense::leave))
      return;
    left_ = true;
    state(What::leave, first, from ? place : -1, 0.8);
  }

  /// "Moving." and no more.
  void leave_by_word() {
    const At first = draft_.skip(0, {Sense::filler, Sense::conj, Sense::now});
    if (!draft_.at(first).is("moving") || draft_.at(first).mutes) return;
    const At next = draft_.skip(first + 1, {Sense::now});
    const bool ends =
        draft_.at(next).mark() && (next + 1 >= draft_.size() || draft_.at(next + 1).is("over") ||
                                   draft_.at(next + 1).is("out"));
    if (!ends) return;
    left_ = true;
    state(What::leave, first, -1, 0.7);
  }

  void leave(At verb) {
    if (negated(draft_, verb)) return;
    const Item& item = draft_.at(verb);
    if (draft_.at(verb + 1).any_of({"it", "them", "that", "those"}) ||
        draft_.at(verb + 1).is(Sense::one) || draft_.at(verb + 1).rock())
      return;
    // "we have left the vehicle", "moving off in five"
    const bool of_thing =
        item.text.find("lef") != std::string::npos || item.text.find("leav") != std::string::npos;
    const At object = draft_.skip(verb + 1, {Sense::determiner});
    if (of_thing && object > verb + 1 && draft_.at(object).kind == Kind::word &&
        draft_.at(object).sense == Sense::none && place_after(draft_, verb) < 0)
      return;
    if (draft_.at(verb + 1).is("in") && draft_.at(verb + 2).number()) return;
    if (only_later(verb)) return;
    // "Closing face one."; not "closing the gate behind us"
    const At closed = draft_.skip(verb + 1, {Sense::determiner});
    if (item.is("closing") && !(is_place(draft_.at(closed)) && draft_.at(closed + 1).mark()))
      return;
    const bool clear =
        item.any_of({"leaving",      "departing",   "departed",     "depart",       "we're off",
                     "we are off",   "moving off",  "moving out",   "moving on",    "setting off",
                     "setting out",  "heading off", "heading out",  "pushing on",   "pushing off",
                     "walking out",  "walking on",  "starting off", "pressing on",  "shoving off",
                     "starting for", "making for",  "off we go",    "we've left",   "we have left",
                     "we left",      "just left",   "pulling out",  "on our way",   "on the move",
                     "packed up",    "packing up",  "exiting",      "heading from", "moving from",
                     "walking off",  "clear of",    "leave now",    "out of here",  "outta here",
                     "out of there", "rolling",     "underway",     "under way"});
    // "and we're walking": on, not along or around
    const bool walking =
        item.any_of({"we're walking", "we are walking"}) && draft_.at(verb + 1).mark();
    // The verb that says from where comes first in the search: "moving on to the breach, leaving
    // cone foot".
    At from = -1;
    for (At i = verb; i < draft_.size(); ++i) {
      const Item& later = draft_.at(i);
      if (later.mutes || !later.is(Sense::leave) || heads_towards_next(i)) continue;
      const At place = place_after(draft_, i);
      if (place >= 0 && !heads_towards(draft_, place)) {
        from = place;
        break;
      }
    }
    if (from < 0) {
      // "breach done, walking out to the toe of the flow"
      for (At k = verb - 1; k >= 0 && k >= verb - 8; --k) {
        const bool finished_part =
            draft_.at(k).kind == Kind::station_part && draft_.at(k + 1).is(Sense::finished) &&
            (draft_.context.station.empty() || draft_.context.station == name(k));
        if ((draft_.at(k).kind == Kind::station || finished_part) && !heads_towards(draft_, k)) {
          from = k;
          break;
        }
      }
    }
    // "moving on to the breach, done at cone foot", "…, out of cone foot"
    for (At k = 0; k < draft_.size() && from < 0; ++k) {
      if (draft_.at(k).kind != Kind::station || draft_.at(k).mutes || heads_towards(draft_, k))
        continue;
      const Approach led = approach(k);
      if (led.way == Way::from || draft_.at(led.head).is(Sense::finished)) from = k;
    }
    At to = -1;
    for (At k = verb; k < draft_.size(); ++k) {
      if (is_place(draft_.at(k)) && heads_towards(draft_, k)) to = k;
    }
    if (item.is("off the") && from < 0) return;
    const bool onward = draft_.any(verb, verb + 3, [](const Item& word) {
      return word.is(Sense::toward) || word.is(Sense::now);
    });
    const bool about_party = clear || walking || to >= 0 || from >= 0 ||
                             (onward && draft_.any(0, verb, [](const Item& word) {
                               return word.any_of({"we're", "we are", "were"});
                             }));
    if (!about_party) return;
    if (!clear && !walking && from < 0 && to < 0) return;
    // "rolling", "on the move": not of stones and clouds
    if (item.any_of({"rolling", "underway", "under way", "clear of", "on the move", "clearing",
                     "away from", "moving down", "moving up"}) &&
        from < 0 && to < 0 && !draft_.any(0, verb, [](const Item& word) {
          return word.any_of({"we're", "we are", "were", "party", "team"});
        })) {
      return;
    }
    left_ = true;
    state(What::leave, verb, from, from >= 0 ? 0.95 : 0.8);
  }

  bool heads_towards_next(At verb) const {
    const At place = place_after(draft_, verb);
    return place >= 0 && heads_towards(draft_, place);
  }

  /// "breach done", "that's us done on the drumlin", "finished at the gate"
  void finish(At word) {
    if (negated(draft_, word)) return;
    // "Falls finished": a part of the name of the place where the party is
    const At part = draft_.at(word - 1).is(Sense::is) ? word - 2 : word - 1;
    if (draft_.at(part).kind == Kind::station_part && draft_.at(part - 1).mark() &&
        name(part) == draft_.context.station &&
        (draft_.at(word + 1).mark() || draft_.at(word + 1).is(Sense::conj))) {
      left_ = true;
      state(What::leave, word, part, 0.8);
      return;
    }
    const At before = draft_.at(word - 1).kind == Kind::station   ? word - 1
                      : draft_.at(word - 2).kind == Kind::station ? word - 2
                                                                  : -1;
    const At after = place_after(draft_, word);
    const At place = before >= 0 ? before : after;
    // "we're done at level": a part of the name of the place where the party is
    const bool whole = place >= 0 && draft_.at(place).kind == Kind::station;
    const bool part_here = place == word + 1 && !whole && name(place) == draft_.context.station &&
                           draft_.at(word).text.find(' ') != std::string::npos &&
                           (draft_.at(place + 1).mark() || draft_.at(place + 1).is(Sense::conj) ||
                            draft_.at(place + 1).is(Sense::leave));
    if (!(whole || part_here) || heads_towards(draft_, place)) return;
    if (before >= 0 && draft_.at(word - 1).kind != Kind::station &&
        !draft_.at(word - 1).is(Sense::is))
      return;
    left_ = true;
    state(What::leave, word, place, 0.8);
  }

  bool arrive(At verb) {
    if (negated(draft_, verb)) return false;
    const Item& item = draft_.at(verb);
    // "Made the hut in ten minutes" is there.
    if (item.text.ends_with("ing") && only_later(verb)) return false;
    // "my last note was made at the hut"
    if (item.is("made") && (draft_.at(verb - 1).is(Sense::is) || draft_.at(verb + 1).is(Sense::at)))
      return false;
    const bool clock =
        item.any_of({"starting the clock", "start the clock", "clock started", "clock's running",
                     "clock is running", "clock running", "clock is started", "clock's started",
                     "clock is on", "clock's on", "on the clock"});
    At place = clock ? place_in(draft_, 0, draft_.size() - 1) : place_after(draft_, verb);
    if (place < 0 && !clock) {
      // "raven gully, we're here"; "the toe of the flow reached"
      const bool trailing =
          item.any_of({"arrived", "reached", "on station", "on site", "in position"}) ||
          draft_.at(verb + 1).is("here");
      if (trailing) place = place_in(draft_, draft_.sentence_begin(verb), verb);
    }
    if (place < 0) {
      if (item.any_of({"arrived", "on station"}) && draft_.at(verb + 1).mark()) {
        state(What::arrive, verb, -1, 0.6);
        return true;
      }
      return false;
    }
    // "we've made it up to the larches"
    const bool made_it = item.text.ends_with("made") && draft_.at(verb + 1).is("it");
    if (heads_towards(draft_, place) && !made_it && !item.text.ends_with(" to") &&
        !item.is("come into"))
      return false;
    if (draft_.at(place).kind == Kind::station_part &&
        !item.any_of({"arrived", "on station", "made it to", "got to"}) &&
        !item.text.ends_with("reached") &&
        !(place == verb + 1 &&
          (item.text.ends_with(" at") ||
           (draft_.at(place + 1).mark() || draft_.at(place + 1).is(Sense::now)))))
      return false;
    state(What::arrive, verb, place, 0.95);
    return true;
  }

  /// Whether two numbers at least stand right behind the place, and no rock: "ten forty four".
  bool told_time(At place) const {
    At k = place + 1;
    while (draft_.at(k).comma() || draft_.at(k).is(Sense::at) || draft_.at(k).is("time") ||
           draft_.at(k).is(Sense::conj) || draft_.at(k).any_of({"it's", "it is", "time is"}))
      ++k;
    const bool past = draft_.at(k + 1).any_of({"past", "to"}) && draft_.at(k + 2).number();
    return draft_.at(k).number() &&
           (draft_.at(k + 1).number() || past || draft_.at(k).low >= 600) &&
           !draft_.any(k, draft_.size() - 1, [](const Item& item) { return item.rock(); });
  }

  /// "Control, Kilo. At face one.": past the sentence that only says who speaks to whom.
  At after_call_signs(At place) const {
    const At begin = draft_.sentence_begin(place);
    int words = 0;
    for (At k = 0; k < begin; ++k) {
      const Item& item = draft_.at(k);
      if (item.mark()) continue;
      if (item.kind != Kind::word || item.sense != Sense::none || ++words > 3) return 0;
    }
    return begin;
  }

  /// "at the sluice everybody": the place, and whom it is told.
  bool only_addressed_behind(At end) const {
    int words = 0;
    for (At k = end + 1; k < draft_.size() && !draft_.at(k).stop(); ++k) {
      const Item& item = draft_.at(k);
      if (item.kind != Kind::word || item.sense != Sense::none || ++words > 2) return false;
    }
    return words > 0;
  }

  /// "on the bench now", "station five, lake bench, eleven twenty two", "raven gully, we're here"
  void arrive_by_name() {
    At place = place_in(draft_, 0, draft_.size() - 1);
    // "gate at ten past nine": a part of the name is enough where the party is on its way
    const At begin = draft_.at(0).number() && draft_.at(0).low >= 600 ? 1 : 0;  // "0909 at plug"
    const At first = draft_.skip(begin, {Sense::filler, Sense::conj, Sense::at, Sense::determiner});
    if (place < 0 && draft_.context.station.empty() &&
        draft_.at(first).kind == Kind::station_part && told_time(first))
      place = first;
    // "at gate now", "at notch"
    if (place < 0 && draft_.at(first).kind == Kind::station_part &&
        draft_.at(first - 1).is(Sense::at) &&
        (draft_.at(first + 1).is(Sense::now) ||
         (draft_.context.station.empty() && (first + 2 >= draft_.size() || begin > 0))))
      place = first;
    if (place < 0 || draft_.at(place).mutes || heads_towards(draft_, place)) return;
    int unknown = 0;  // "Quail at the saddle, ten forty four": who is there, where a time is told
    for (At k = after_call_signs(place); k < place; ++k) {
      const Item& item = draft_.at(k);
      const bool name = item.kind == Kind::word && item.sense == Sense::none && ++unknown <= 3 &&
                        told_time(place);
      const bool opening =
          item.mark() || item.is(Sense::at) || item.is(Sense::determiner) || item.is(Sense::now) ||
          item.is(Sense::conj) || item.number() ||
          (item.is(Sense::is) && unknown > 0 && told_time(place)) || item.is(Sense::filler) ||
          item.any_of({"up",   "down",  "out",     "over",  "base", "field", "okay",
                       "ok",   "right", "here",    "we",    "so",   "hello", "just",
                       "well", "and",   "station", "party", "team", "crew",  "group"}) ||
          is_place(item);
      if (!opening && !name) return;
    }
    const bool own_sentence = draft_.at(place + 1).stop() &&
                              place - after_call_signs(place) <= 3;  // "On the knob. Dark lava."
    const bool rocks =
        draft_.any(0, own_sentence ? place : draft_.size() - 1, [](const Item& item) {
          return item.rock() || item.is(Sense::correction) || item.is(Sense::not_);
        });
    // "at the spit now and it's all sandstone"
    if (rocks && !(draft_.at(place + 1).is(Sense::now) && place <= 3)) return;
    At end = place;
    while (draft_.at(end + 1).comma() || is_place(draft_.at(end + 1))) ++end;
    const Item& next = draft_.at(end + 1);
    const bool clock_time =
        next.number() && (draft_.at(end + 2).number() || draft_.at(end + 2).mark());
    const bool here = next.is(Sense::now) ||
                      next.any_of({"we're here", "as", "here", "at", "time", "on", "starting",
                                   "we're", "clock", "just"}) ||
                      (next.any_of({"were", "we are"}) && draft_.at(end + 2).is("here")) ||
                      next.is(Sense::arrive) || clock_time || told_time(place);
    const bool located =
        draft_.at(place - 1).is(Sense::at) ||
        (draft_.at(place - 1).is(Sense::determiner) && draft_.at(place - 2).is(Sense::at));
    const bool whole_note = draft_.at(end + 1).mark() && (end + 2 >= draft_.size() || own_sentence);
    // A party on its way that names a place, and then what it is like there: "cave mouth. Dark."
    const bool on_the_way = draft_.context.station.empty();
    const bool names_it = on_the_way && (draft_.at(end + 1).stop()
                                             ? located || (place == 0 && end + 2 < draft_.size())
                                             : located && draft_.at(end).comma());
    const bool told = on_the_way && located && only_addressed_behind(end);
    if (here || names_it || told || (located && whole_note))
      state(What::arrive, place, place, here ? 0.8 : 0.6);
  }

  Draft& draft_;
  bool left_ = false;
};

}  // namespace

void read_movements(Draft& draft) {
  if (draft.corrects) return;
  Movements(draft).run();
}

}  // namespace stonecall::reading
