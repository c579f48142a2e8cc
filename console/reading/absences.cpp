#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

At skip_describing(const Draft& draft, At i) {
  const auto skip = [&](At from) {
    return draft.skip(
        from, {Sense::determiner, Sense::colour, Sense::texture, Sense::shape, Sense::preposition,
               Sense::piece, Sense::seen, Sense::filler, Sense::approx, Sense::no_quantity});
  };
  const At next = skip(i);
  const bool adjective =
      draft.at(next).any_of({"actual", "real", "proper", "obvious", "visible", "true", "genuine",
                             "such", "definite", "other", "fresh", "decent", "whole", "new"});
  return adjective ? skip(next + 1) : next;
}

bool may_be_absent(const Item& item) {
  return item.rock() && !(item.mutes & ~(Item::wished | 0u)) && !item.used;
}

/// "We took two gneiss at the beach, none here."
bool elsewhere(const Item& item) {
  return item.rock() && item.mutes == Item::recalled && !item.used;
}

void absent(Draft& draft, At cue, At rock) {
  Item& item = draft.edit(rock);
  item.mutes |= Item::absent;
  const KnownRock& known = draft.rock(item);
  draft.propose(RockAbsent{known.name, known.planned}, std::min(cue, rock), std::max(cue, rock),
                0.9);
}

/// From the first absent kind on through "sandstone or granite", "granite, gneiss or schist", "no
/// basalt, no scoria".
void absent_list(Draft& draft, At cue, At rock) {
  absent(draft, cue, rock);
  At last = rock;
  std::vector<At> waiting;  // after commas, absent only if the list goes on to an "or"
  for (At i = rock + 1; i < draft.size() && !draft.at(i).stop();) {
    const Item& item = draft.at(i);
    const bool joins = item.any_of({"or", "nor", "and"});
    const bool comma = item.comma();
    if (!joins && !comma) break;
    At next = i + 1;
    if (draft.at(next).any_of({"or", "nor", "and", "no"})) ++next;
    const bool definite = joins || next > i + 1;
    next = skip_describing(draft, next);
    if (!may_be_absent(draft.at(next))) break;
    // "no granite and schist is everywhere": a verb makes a new statement.
    if (!draft.at(i).is("or") && !draft.at(i).is("nor") && draft.at(next + 1).is(Sense::is)) break;
    if (definite) {
      for (const At earlier : waiting) absent(draft, cue, earlier);
      waiting.clear();
      absent(draft, cue, next);
    } else {
      waiting.push_back(next);
    }
    last = next;
    i = next + 1;
  }
  const Item& after = draft.at(last + 1);
  if (after.mark() || after.any_of({"here", "yet", "so far", "either", "at all", "anywhere"})) {
    for (const At earlier : waiting) absent(draft, cue, earlier);
  }
}

/// "I can't see any sandstone", "have not seen a single nodule": `not` … verb of seeing … kind.
At seen_kind(const Draft& draft, At cue) {
  bool sees = draft.at(cue).is(Sense::no);
  for (At i = cue + 1; i <= cue + 9 && !draft.at(i).mark(); ++i) {
    const Item& item = draft.at(i);
    if (item.rock()) return sees ? i : -1;
    if (item.is(Sense::seen)) {
      sees = true;
      continue;
    }
    if (item.is(Sense::but) || item.is(Sense::because) || item.is(Sense::wish) ||
        item.is(Sense::restart))
      return -1;
    if (item.any_of({"bagged", "sampled", "bag", "took", "photographed", "reach", "take", "want",
                     "need", "think", "know", "forget"}))
      return -1;
  }
  return -1;
}

/// A kind named shortly before "none", "nothing so far", in the same sentence.
At kind_before(const Draft& draft, At cue) {
  const At reach =
      draft.at(cue).text.starts_with("there") || draft.at(cue).text.ends_with(" any") ||
              draft.any(cue - 3, cue - 1, [](const Item& item) { return item.is(Sense::but); })
          ? 12
          : 8;
  for (At i = cue - 1; i >= 0 && i >= cue - reach; --i) {
    const Item& item = draft.at(i);
    // "still looking for granite. None yet."
    if (item.stop() && i == cue - 1 && item.kind == Item::Kind::mark) continue;
    const bool sentence_before = item.sentence != draft.at(cue).sentence;
    if (sentence_before && item.rock()) return item.mutes & Item::wished ? i : -1;
    if (item.stop() || item.is(Sense::stereo) || item.is(Sense::down_sun) ||
        item.is(Sense::after) || item.is(Sense::pair))
      return -1;
    if (item.rock()) return i;
  }
  return -1;
}

}  // namespace

void read_absences(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& cue = draft.at(i);
    if (cue.mutes & (Item::asked | Item::recalled | Item::guessed | Item::replaced)) continue;
    if (cue.is(Sense::no) && !(cue.mutes & Item::wished)) {
      At rock = skip_describing(draft, i + 1);
      if (draft.at(rock).any_of({"sign of", "no"})) rock = skip_describing(draft, rock + 1);
      // "no hint of slate", whatever it is that there is none of
      if (draft.at(i + 2).is("of")) rock = skip_describing(draft, i + 3);
      // "the andesite they talk of, not one piece of it"
      if (draft.at(rock).any_of({"it", "them", "that"}) &&
          draft.at(rock - 1).text.ends_with("of") && draft.at(rock + 1).mark())
        rock = kind_before(draft, i);
      if (may_be_absent(draft.at(rock)) && rock - i <= 5) {
        absent_list(draft, i, rock);
      } else if (cue.is("zero") && draft.at(i + 1).mark() && may_be_absent(draft.at(i - 1))) {
        absent(draft, i, i - 1);  // "anthracite zero"
      } else if (cue.is("no") && draft.at(i + 1).stop() && draft.at(i - 1).comma() &&
                 may_be_absent(draft.at(i - 2))) {
        absent(draft, i, i - 2);  // "basalt? no."
      } else if (cue.is("no") && draft.at(i + 1).stop() && draft.at(i - 1).is(Sense::but)) {
        // "I wanted to find some basalt, but no."
        const At before = kind_before(draft, i);
        if (before >= 0 && draft.at(before).mutes == Item::wished) absent(draft, i, before);
      }
    } else if (cue.any_of({"nothing", "nope", "nada", "zip", "no luck"}) &&
               draft.at(i + 1).stop() &&
               draft.any(i - 3, i - 1, [](const Item& item) { return item.is(Sense::but); })) {
      // "I was hoping for perlite, but nope, nothing"
      const At before = kind_before(draft, i);
      if (before >= 0 && draft.at(before).mutes == Item::wished) absent(draft, i, before);
    } else if (cue.any_of({"there isn't", "there aren't", "there wasn't", "there weren't"}) &&
               draft.at(draft.at(i + 1).any_of({"any", "one"}) ? i + 2 : i + 1).mark()) {
      // "I expected dolomite here, there isn't"
      const At before = kind_before(draft, i);
      if (before >= 0 && may_be_absent(draft.at(before))) absent(draft, i, before);
    } else if (cue.is(Sense::sees_not) || cue.is(Sense::no)) {
      const At rock = seen_kind(draft, i);
      if (rock >= 0 && may_be_absent(draft.at(rock))) absent_list(draft, i, rock);
    } else if (cue.is(Sense::none_here)) {
      // "none are chert", "none of the chert"
      const At subject = draft.skip(i + 1, {Sense::is, Sense::preposition, Sense::determiner});
      if (subject > i + 1 && may_be_absent(draft.at(subject))) {
        absent_list(draft, i, subject);
        continue;
      }
      const At after = skip_describing(draft, i + 1);
      const At before = kind_before(draft, i);
      if (before >= 0 && may_be_absent(draft.at(before))) {
        absent(draft, i, before);
        // "granite or gneiss, none"
        for (At k = before - 1;
             k >= 1 && draft.at(k).any_of({"or", "and", ","}) && may_be_absent(draft.at(k - 1));
             k -= 2) {
          absent(draft, i, k - 1);
        }
      } else if (draft.at(after).is("no")) {
        continue;
      } else if (may_be_absent(draft.at(after)) && after - i <= 3) {
        absent_list(draft, i, after);
      } else if (before >= 0 && elsewhere(draft.at(before))) {
        absent(draft, i, before);
      }
    } else if (cue.any_of({"not a", "not one"}) && draft.at(i + 1).is(Sense::piece) &&
               draft.at(i + 2).mark() && kind_before(draft, i) >= 0) {
      // "any granite? Well no, not a splinter"
      const At before = kind_before(draft, i);
      if (may_be_absent(draft.at(before))) absent(draft, i, before);
    } else if (cue.any_of({"not a", "not one"}) && draft.at(i + 2).is("of") &&
               may_be_absent(draft.at(skip_describing(draft, i + 3)))) {
      absent_list(draft, i, skip_describing(draft, i + 3));  // "not a scrap of gneiss"
    } else if (cue.is(Sense::not_)) {
      const At rock = draft.skip(i + 1, {Sense::determiner, Sense::colour, Sense::texture,
                                         Sense::soft_correction, Sense::filler});
      if (draft.at(rock).rock() && rock - i <= 4) draft.edit(rock).mutes |= Item::denied;
    }
  }
}

}  // namespace stonecall::reading
