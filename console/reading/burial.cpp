#include <algorithm>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

/// Only one of the "all" words: "completely under".
bool filler_between(const Item& item) {
  return item.is(Sense::is) || item.is(Sense::preposition) || item.is(Sense::one) ||
         item.is(Sense::filler) || item.is(Sense::determiner) ||
         item.any_of({"it was", "it is", "it's", "there", "of it", "it", "of", "was", "by", "to",
                      "down", "way", "about", "only", "well", "rock", "still"}) ||
         item.is(Sense::approx) || item.is(Sense::piece) || item.is(Sense::toward) ||
         item.is(Sense::at) || item.is(Sense::side) || item.is(Sense::sample) || item.number();
}

bool bridged(const Draft& draft, At from, At to) {
  if (to - from > 4) return false;
  for (At i = from; i < to; ++i) {
    if (!filler_between(draft.at(i))) return false;
  }
  return true;
}

/// "only the top is poking out", "just a corner of it was showing"
bool hardly_shows(const Draft& draft, At exposed) {
  bool part = false;
  for (At i = exposed - 1; i >= std::max(draft.clause_begin(exposed), exposed - 7); --i) {
    const Item& item = draft.at(i);
    part = part || item.any_of({"top", "tip", "cap", "corner", "nose", "edge", "crown", "its top",
                                "the top"});
    if (part && item.any_of({"only", "just", "barely"})) return true;
  }
  return false;
}

bool is_ground(const Item& item) {
  return item.any_of({"scree",  "soil",     "sand",     "mud",   "ash",    "gravel",
                      "till",   "peat",     "turf",     "silt",  "clay",   "moss",
                      "grit",   "snow",     "shingle",  "dust",  "dirt",   "earth",
                      "rubble", "talus",    "bank",     "loam",  "grass",  "ooze",
                      "litter", "regolith", "sediment", "beach", "ground", "heather"});
}

/// "Nine tenths clear of the sand", "half out of the mud".
bool clear_of_ground(const Draft& draft, At i) {
  const bool out_of = draft.at(i).any_of({"out", "clear"}) && draft.at(i + 1).is("of");
  if (!out_of && !draft.at(i).any_of({"clear of", "out of", "above"})) return false;
  return is_ground(draft.at(draft.skip(out_of ? i + 2 : i + 1, {Sense::determiner})));
}

/// "Sat right on top of the shingle", "lying loose on the grass".
bool rests_on(const Draft& draft, At on) {
  const Item& item = draft.at(on);
  const bool relation = item.any_of({"sitting on", "lying on", "resting on", "on top of"});
  if (!relation && !item.is("on")) return false;
  const At thing = draft.skip(on + 1, {Sense::determiner, Sense::colour, Sense::texture});
  if (!is_ground(draft.at(thing))) return false;
  return (relation && !item.is("on top of")) || draft.any(on - 3, on - 1, [](const Item& before) {
    return before.any_of({"sat", "sits", "sitting", "lay", "lies", "lying", "laying", "rests",
                          "rested", "resting", "perched", "stood", "standing"});
  });
}

/// "Half in.", "one quarter in scree": how much of a sample is in, with nothing else said.
bool in_the_ground(Draft& draft, std::vector<Amount>& amounts) {
  const bool sample = draft.has_label(LabelSaid::Of::sample) || draft.has_label(LabelSaid::Of::bag);
  if (!sample) return false;
  for (std::size_t a = 0; a < amounts.size(); ++a) {
    const Amount& amount = amounts[a];
    At in = amount.last + 1;  // "half of it in the bank", "two thirds sunk in the dump"
    while (draft.at(in).is(Sense::preposition) || draft.at(in).is(Sense::one) ||
           draft.at(in).is(Sense::is) ||
           draft.at(in).any_of({"sunk", "stuck", "set", "wedged", "bedded", "down", "was", "it",
                                "it was", "it is", "it's"}))
      ++in;
    if (amount.rest || amount.all || draft.at(amount.first).mutes || !draft.at(in).is("in"))
      continue;
    const At thing = draft.skip(in + 1, {Sense::determiner});
    const bool ground = is_ground(draft.at(thing));
    // "half in a pool", "a third in the tip": whatever it lies in
    const bool something =
        thing > in + 1 && (draft.at(thing).rock() || (draft.at(thing).kind == Item::Kind::word &&
                                                      draft.at(thing).sense == Sense::none));
    if (!ground && !something && !draft.at(in + 1).mark()) continue;
    draft.propose(BuriedPart{amount.percent}, amount.first, in, 0.8);
    draft.use(amount.first, amount.last);
    amounts.erase(amounts.begin() + static_cast<std::ptrdiff_t>(a));
    return true;
  }
  return false;
}

}  // namespace

void read_burial(Draft& draft, std::vector<Amount>& amounts) {
  const auto say = [&](Portion percent, At first, At last, double sureness) {
    draft.propose(BuriedPart{percent}, first, last, sureness);
  };
  bool found = false;
  const auto take = [&](std::size_t which, At word) {
    const Amount& amount = amounts[which];
    const Portion& said = amount.percent;
    const bool exposed = draft.at(word).is(Sense::exposed) || clear_of_ground(draft, word);
    say(exposed ? Portion{100 - said.high, 100 - said.low, 100 - said.best} : said,
        std::min(amount.first, word), std::max(amount.last, word), 0.9);
    draft.use(amount.first, amount.last);
    amounts.erase(amounts.begin() + static_cast<std::ptrdiff_t>(which));
    found = true;
  };
  // "wasn't two thirds buried, closer to half": what it was stands behind
  const auto put_right = [&](std::size_t which) {
    const Amount& amount = amounts[which];
    const bool denied = draft.any(amount.first - 2, amount.first - 1, [](const Item& before) {
      return before.is(Sense::not_) || before.is(Sense::sees_not) || before.is("wasn't");
    });
    if (!denied || which + 1 == amounts.size()) return which;
    const Amount& next = amounts[which + 1];
    const bool same = draft.at(next.first).sentence == draft.at(amount.first).sentence;
    const bool of_kind =
        draft.any(amount.last + 1, next.last + 1, [](const Item& item) { return item.rock(); });
    return same && !next.rest && !of_kind ? which + 1 : which;
  };

  for (At i = 0; i < draft.size() && !found; ++i) {
    const Item& item = draft.at(i);
    if (item.mutes) continue;
    if (item.is(Sense::burial)) {
      say({item.low, item.high, (item.low + item.high) / 2}, i, i, 0.9);
      found = true;
      break;
    }
    if (rests_on(draft, i)) {
      say({0, 5, 0}, i, i, 0.8);
      found = true;
      break;
    }
    const bool under = item.is("under") ||
                       item.any_of({"underneath", "below", "in the ground", "deep"}) ||
                       (item.is("down") && !draft.at(i + 1).any_of({"here", "there", "by"})) ||
                       item.is(Sense::under);
    const bool buried = item.is(Sense::buried);
    const bool exposed = item.is(Sense::exposed) || clear_of_ground(draft, i);
    if (!buried && !under && !exposed) continue;
    if (exposed && hardly_shows(draft, i)) {
      say({85, 100, 92.5}, i, i, 0.9);
      found = true;
      break;
    }
    for (std::size_t a = 0; a < amounts.size() && !found; ++a) {
      const Amount& amount = amounts[a];
      if (amount.rest) continue;
      // "three quarters under", "about a third of it buried"
      if (amount.last < i && bridged(draft, amount.last + 1, i)) {
        const bool of_rocks = draft.any(amount.last + 1, i, [](const Item& between) {
          return between.is(Sense::piece) && between.text.ends_with("s");
        });
        if (!of_rocks) take(put_right(a), i);
      } else if (buried && amount.first > i && bridged(draft, i + 1, amount.first)) {
        // "buried to a third": but not "buried, about ten percent basalt"
        const At next =
            draft.skip(amount.last + 1, {Sense::preposition, Sense::colour, Sense::texture});
        if (!draft.at(next).rock()) take(a, i);
      }
    }
  }
  // "I said it was three quarters under, more like half": the amount that was put right
  for (At i = 1; i < draft.size() && !found; ++i) {
    const Item& item = draft.at(i);
    const bool under = item.is(Sense::buried) || item.any_of({"under", "below", "in the ground"});
    if (!under || !(draft.at(i - 1).mutes & Item::replaced)) continue;
    for (std::size_t a = 0; a < amounts.size() && !found; ++a) {
      if (amounts[a].first > i && !amounts[a].rest &&
          draft.at(amounts[a].first).sentence == item.sentence)
        take(a, i);
    }
  }
  // "a bit more than hardly buried, call it a quarter": the figure says it
  if (found && !amounts.empty()) {
    for (std::size_t a = 0; a < amounts.size(); ++a) {
      const At before = amounts[a].first - 1;
      // "half in the mud, maybe more, I'd say sixty percent buried"
      const bool estimate = draft.at(amounts[a].first).any_of({"i'd say", "i would say"}) ||
                            draft.at(before).any_of({"i'd say", "i would say"});
      const bool again =
          estimate && draft.any(amounts[a].last + 1, amounts[a].last + 3,
                                [](const Item& item) { return item.is(Sense::buried); });
      const bool figure =
          again || (draft.at(before).is("it") && draft.at(before - 1).any_of({"call", "make"}));
      const bool of_kind = draft.at(draft.skip(amounts[a].last + 1, {Sense::preposition})).rock();
      if (!figure || of_kind || amounts[a].rest) continue;
      draft.withdraw<BuriedPart>();
      say(amounts[a].percent, amounts[a].first, amounts[a].last, 0.9);
      draft.use(amounts[a].first, amounts[a].last);
      amounts.erase(amounts.begin() + static_cast<std::ptrdiff_t>(a));
      break;
    }
  }
  if (found) {
    // "half under the water, well, half under the mud": neither is of the ground
    const auto of_burial = [&](const Amount& amount) {
      if (amount.rest) return false;
      for (At i = amount.last + 1; i <= amount.last + 4; ++i) {
        const Item& word = draft.at(i);
        if ((word.is(Sense::buried) || word.is(Sense::under)) && bridged(draft, amount.last + 1, i))
          return true;
      }
      return false;
    };
    std::erase_if(amounts, of_burial);
    return;
  }
  if (in_the_ground(draft, amounts)) return;
  // "loose": of one rock that is described, not of "loose cinders underfoot".
  const bool describes = draft.has_label(LabelSaid::Of::sample) ||
                         draft.any(0, draft.size() - 1, [](const Item& item) {
                           return item.is(Sense::one) || item.is(Sense::compare) ||
                                  item.is(Sense::unit) || item.is(Sense::pick);
                         });
  if (!describes && draft.size() > 4) return;
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (!item.is(Sense::loose) || item.mutes) continue;
    const Item& next = draft.at(i + 1);
    if (next.rock() || next.is(Sense::piece) || next.is(Sense::thing_within) ||
        next.any_of({"of", "scree", "sand", "ground", "ash"}) || next.is(Sense::preposition))
      continue;
    say({0, 5, 0}, i, i, 0.8);
    return;
  }
}

}  // namespace stonecall::reading
