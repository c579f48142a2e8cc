#include <algorithm>

#include "console/reading/labels.hpp"
#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

bool amount_item(const Item& item) {
  return item.number() || item.kind == Item::Kind::fraction || item.is(Sense::percent) ||
         item.is(Sense::quantity);
}

bool starts_statement(const Item& item) {
  return item.is(Sense::restart) || item.is(Sense::but) || item.is(Sense::none_here) ||
         item.is(Sense::sample) || item.is(Sense::bag) || item.is(Sense::correction);
}

/// Last item that a hedge at `cue` reaches: to the end of its clause, over a comma only into a list
/// of names.
At reach(const Draft& draft, At cue, bool over_restart) {
  At i = cue;
  while (i + 1 < draft.size()) {
    const Item& next = draft.at(i + 1);
    if (next.stop()) break;
    if (!over_restart && i > cue && starts_statement(next)) break;
    if (next.comma()) {
      const At after =
          draft.skip(i + 2, {Sense::determiner, Sense::colour, Sense::texture, Sense::conj});
      // "let's do it, coarse gabbro, sample nine": a list goes on only from a name
      const bool from_name =
          i == cue || draft.any(cue, i, [](const Item& item) { return item.rock(); });
      const bool list = from_name && draft.at(after).rock() &&
                        (draft.at(after + 1).mark() || draft.at(after + 1).is(Sense::conj));
      if (!list) break;
    }
    ++i;
  }
  return i;
}

void guess(Draft& draft, At cue) {
  const Item& item = draft.at(cue);
  // "maybe two percent", "one in twenty maybe": roughly, not perhaps.
  const bool rough =
      item.any_of({"maybe", "perhaps", "possibly", "maybe a", "perhaps a", "possibly a",
                   "maybe it's", "maybe it is", "maybe that's", "perhaps it's", "perhaps it is"});
  if (rough) {
    for (At i = cue + 1; i <= cue + 2; ++i) {
      if (amount_item(draft.at(i)) || draft.at(i).is(Sense::approx)) {
        draft.edit(cue).sense = Sense::approx;
        return;
      }
    }
    if (amount_item(draft.at(cue - 1)) && !item.is("maybe a")) {
      draft.edit(cue).sense = Sense::approx;
      return;
    }
    // "maybe we should break a bit off": of what to do next, not of what was said before.
    const Item& next = draft.at(cue + 1);
    if (next.is(Sense::wish) || next.any_of({"i", "we", "you", "he", "she", "they", "somebody"})) {
      draft.mute(cue, reach(draft, cue, false), Item::wished);
      return;
    }
  }
  const At last = reach(draft, cue, false);
  At first = cue;
  if (!draft.any(cue, last, [](const Item& after) { return after.rock(); })) {
    const At begin = draft.clause_begin(cue);
    while (first > begin && !starts_statement(draft.at(first - 1)) &&
           !draft.at(first).any_of({"something", "anything"}))
      --first;
    // "granite, possibly": the name stands in the clause before.
    if (first == cue && draft.at(cue - 1).comma() && draft.at(cue - 2).rock() &&
        draft.at(cue + 1).mark())
      first = cue - 2;
  }
  draft.mute(first, last, Item::guessed);
}

/// What is "to follow" or "still to do": the clause, or its last picture where others are told of
/// before it, "stereo done down sun done after to follow".
At wished_from(const Draft& draft, At cue) {
  const At begin = draft.clause_begin(cue);
  const auto picture = [&](At i) { return labels::photo_item(draft.at(i)); };
  // "forgot to do the after": of what stands behind
  if (picture(draft.skip(cue + 1, {Sense::determiner})) &&
      draft.any(begin, cue, [](const Item& item) { return labels::photo_item(item); }))
    return cue;
  At last = cue - 1;
  while (last > begin && !picture(last)) --last;
  At before = last - 1;
  while (before > begin && draft.at(before).is(Sense::determiner)) --before;
  const bool listed = draft.at(before).is(Sense::conj) || picture(before);
  const bool others =
      draft.any(begin, before, [](const Item& item) { return labels::photo_item(item); });
  return picture(last) && others && !listed ? last : begin;
}

void wish(Draft& draft, At cue) {
  const Item& item = draft.at(cue);
  // "next one will be sample fourteen": not yet, unless its bag is told as well
  const bool next_one =
      draft.at(cue + 1).is("be") &&
      draft.any(draft.clause_begin(cue), cue - 1,
                [](const Item& before) {
                  return before.any_of({"next", "later", "tomorrow"});
                }) &&
      !draft.any(cue, draft.size() - 1, [](const Item& after) { return after.is(Sense::bag); });
  if (next_one) draft.mute(cue, draft.clause_end(cue), Item::wished);
  // "sample six will be the granite": chosen, not taken
  const bool to_be_taken =
      item.any_of({"will", "shall"}) && draft.at(cue + 1).is("be") && draft.at(cue - 1).number() &&
      !draft.any(0, draft.size() - 1, [](const Item& other) {
        return other.is(Sense::bag) || other.is(Sense::burial) || other.is(Sense::compare) ||
               other.is(Sense::unit) || other.is(Sense::buried) || other.is(Sense::loose);
      });
  if (to_be_taken) draft.mute(draft.clause_begin(cue), draft.clause_end(cue), Item::wished);
  if (!next_one && draft.at(cue + 1).any_of({"be", "make", "go", "put"}) &&
      !item.any_of({"want to", "need to", "going to"}))
    return;
  if (draft.at(cue + 1).any_of({"say", "call"}) || draft.at(cue + 1).text.starts_with("call "))
    return;
  // "let's count ten: eight granite": it is done while it is said
  if (item.is("let's") &&
      draft.any(cue + 1, cue + 4,
                [](const Item& next) { return next.is(Sense::count) || next.is(Sense::look); }) &&
      draft.any(cue + 1, draft.sentence_end(cue), [](const Item& next) { return next.number(); }))
    return;
  // "one oh two is going to be the granite"
  if (item.is("going to") && draft.at(cue + 1).is("be"))
    draft.mute(draft.clause_begin(cue), cue, Item::wished);
  if (item.is("going to")) {
    const At next = draft.skip(cue + 1, {Sense::determiner});
    if (draft.at(next).kind == Item::Kind::station) {
      draft.edit(cue).sense = Sense::leave;
      return;
    }
  }
  if (item.any_of({"to do", "still to do", "to come", "to follow", "on the list", "on our list",
                   "needs", "would be nice", "would be good", "would be great", "would be useful",
                   "would be handy"})) {
    draft.mute(wished_from(draft, cue), cue, Item::wished);
  }
  // "one xenolith wanted"
  const bool subject = draft.any(cue - 3, cue - 1, [](const Item& before) {
    return before.any_of({"i", "we", "you", "they", "he", "she"});
  });
  if (item.is("wanted") && draft.at(cue + 1).mark() && !subject)
    draft.mute(draft.clause_begin(cue), cue, Item::wished);
  draft.mute(cue, reach(draft, cue, false), Item::wished);
}

void recall(Draft& draft, At cue) {
  const bool whole_clause = draft.at(cue).low > 0;
  At begin = draft.clause_begin(cue);
  // "no limestone, which is odd because the map says there is": of what stands behind it alone
  for (At k = begin; k < cue; ++k) {
    if (draft.at(k).is(Sense::because) ||
        draft.at(k).any_of({"which", "although", "though", "whereas", "since"}))
      begin = k;
  }
  const bool leads = cue - begin <= 1;
  // "we passed the terrace on the way, it is all limestone": of that place, to the end
  const bool passed =
      draft.at(cue).text.ends_with("passed") || draft.at(cue).text.ends_with("past");
  const bool elsewhere = passed && draft.any(cue, draft.clause_end(cue), [&](const Item& item) {
    return item.kind == Item::Kind::station &&
           draft.matcher.stations()[item.index] != draft.context.station;
  });
  if (elsewhere) return draft.mute(begin, draft.sentence_end(cue), Item::recalled);
  draft.mute(whole_clause ? begin : cue,
             leads && whole_clause ? draft.sentence_end(cue) : reach(draft, cue, true),
             Item::recalled);
}

/// "The big dyke back at the wash": a thing, and then where it was.
void recall_of_thing(Draft& draft, At back) {
  const At begin = draft.clause_begin(back);
  const bool thing = draft.any(begin, back - 1, [](const Item& item) {
    return item.rock();
  }) && !draft.any(begin, back - 1, [](const Item& item) {
    return item.is(Sense::finished) || item.is(Sense::arrive) || item.is(Sense::pick);
  });
  if (thing) draft.mute(begin, draft.clause_end(back), Item::recalled);
}

/// "I see slate across the water, but that's over at the mill": a kind, and then where it is.
void place_of_thing(Draft& draft, At station) {
  const Item& item = draft.at(station);
  if (draft.context.station.empty() ||
      draft.matcher.stations()[item.index] == draft.context.station)
    return;
  At over = station - 1;
  while (draft.at(over).is(Sense::determiner)) --over;
  const bool elsewhere =
      draft.at(over).is(Sense::at) && draft.any(over - 2, over, [](const Item& word) {
        return word.text.starts_with("over") || word.text.starts_with("across") ||
               word.text.starts_with("up at") || word.text.starts_with("down at");
      });
  const At first = draft.sentence_begin(station);
  if (!elsewhere || !draft.any(first, over, [](const Item& word) { return word.rock(); }) ||
      draft.any(first, over, [](const Item& word) {
        return word.is(Sense::arrive) || word.is(Sense::leave) || word.is(Sense::sample) ||
               word.any_of({"we", "we're", "i'm", "we are", "i am"});
      }))
    return;
  draft.mute(first, station, Item::recalled);
}

/// "At Alder Wash we had plenty of granite": another station in the past tense.
void recall_of_station(Draft& draft, At station) {
  const Item& item = draft.at(station);
  if (draft.matcher.stations()[item.index] == draft.context.station) return;
  const At first = draft.clause_begin(station);
  const At last = draft.clause_end(station);
  // "net store were here": we are
  if (draft.at(station + 1).is("were") && draft.at(station + 2).is("here")) return;
  const bool past = draft.any(first, last, [](const Item& word) {
    return word.any_of({"was", "were", "had", "saw", "found", "it was", "there was", "there were",
                        "we had", "we saw", "we found", "got"});
  });
  // "we got in to the wash": it tells of no rock there
  if (!draft.any(first, last, [](const Item& word) { return word.rock(); }) &&
      !draft.any(first, last, [](const Item& word) {
        return word.any_of({"was", "were", "had", "it was"});
      }))
    return;
  const bool moves = draft.any(first, last, [](const Item& word) {
    return word.is(Sense::leave) || (word.is(Sense::arrive) && !word.is("back at")) ||
           word.is(Sense::sample) || word.is(Sense::correction) || word.is(Sense::not_);
  });
  if (past && !moves) draft.mute(first, last, Item::recalled);
}

/// "That is trachyte, but it is a kilometre away": seen, and not here.
void far_away(Draft& draft, At away) {
  const bool far = draft.any(away - 3, away - 1, [](const Item& item) {
    return item.any_of(
        {"kilometre", "kilometres", "kilometer", "kilometers", "km", "k", "mile", "miles"});
  });
  if (far) draft.mute(draft.sentence_begin(away), away, Item::recalled);
}

}  // namespace

void mark_hedges(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.mutes & Item::asked) continue;
    if (item.is(Sense::guess)) guess(draft, i);
    if (item.is(Sense::wish)) wish(draft, i);
    if (item.is(Sense::recall)) recall(draft, i);
    // "not a hundred percent sure it's slate"
    if (item.any_of({"sure", "certain", "convinced"}) &&
        draft.any(i - 4, i - 1,
                  [](const Item& word) { return word.is(Sense::not_) || word.is("less"); }) &&
        draft.any(i - 2, i - 1, [](const Item& word) {
          return word.is(Sense::percent) || word.is(Sense::quantity);
        }))
      draft.mute(i, reach(draft, i, true), Item::guessed);
    // "haematite staining": its colour on another rock
    if (item.rock() &&
        draft.at(i + 1).any_of({"staining", "stained", "stain", "stains", "coloured", "colored"}))
      draft.mute(i, i, Item::denied);
    if (item.is("back at")) recall_of_thing(draft, i);
    if (item.any_of({"away", "off"})) far_away(draft, i);
    // "there's got to be magnetite somewhere": concluded, not seen
    if (item.any_of(
            {"gotta be", "got to be", "has to be", "must be", "there's", "there must be"}) &&
        draft.any(i + 1, draft.sentence_end(i), [](const Item& word) {
          return word.any_of({"somewhere", "nearby", "hereabouts", "close by"});
        }))
      draft.mute(i, reach(draft, i, false), Item::guessed);
    // "the wall is built of porphyry"
    if (item.is("built") && draft.at(i + 1).any_of({"of", "from", "out", "in", "with"}))
      draft.mute(draft.clause_begin(i), draft.clause_end(i), Item::recalled);
    // "next stop the stack, should be tonalite there": expected, no sample put right
    if (item.is("should be") &&
        draft.any(draft.sentence_begin(i), draft.sentence_end(i), [](const Item& word) {
          return word.is("next stop") || word.is("there") || word.is("if") ||
                 word.is("over there") || word.is("further");
        }))
      draft.mute(i, reach(draft, i, false), Item::wished);
    if (item.is(Sense::cannot_tell)) {
      const At last = reach(draft, i, false);
      At first = draft.clause_begin(i);
      // "that shiny one's perlite, but I couldn't tell you"
      const bool of_before =
          draft.at(first).is(Sense::but) && first > 0 &&
          !draft.any(first, last, [](const Item& word) { return word.rock(); }) &&
          draft.at(last + 1).stop();
      if (of_before)
        first = draft.clause_begin(draft.at(first - 1).comma() ? first - 2 : first - 1);
      draft.mute(first, last, Item::guessed);
    }
    if (item.is(Sense::gear)) draft.mute(draft.clause_begin(i), draft.clause_end(i), Item::gear);
    if (item.kind == Item::Kind::station) {
      recall_of_station(draft, i);
      place_of_thing(draft, i);
    }
  }
}

}  // namespace stonecall::reading
