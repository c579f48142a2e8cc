#include "console/reading/labels.hpp"

namespace stonecall::reading::labels {
namespace {

/// Words that may stand between "bag" and its number: "bag is number thirty", "bag number".
At skip_to_number(const Draft& draft, At i) {
  for (At steps = 0; steps < 4; ++steps, ++i) {
    i = skip_letters(draft, i);
    const Item& item = draft.at(i);
    if (item.number()) return i;
    const bool between = item.is(Sense::number) || item.is(Sense::is) || item.is(Sense::filler) ||
                         item.is(Sense::now) ||
                         item.any_of({"it's", "that's", "goes", "id", "called", "no", "after all",
                                      "it is", "here", "the"});
    const bool comma =
        item.comma() && (draft.at(i + 1).is(Sense::number) ||
                         (draft.at(i + 1).number() && !draft.at(i + 2).is(Sense::is) &&
                          !draft.at(i + 1).possessive &&
                          (draft.at(i + 2).mark() || !draft.at(i + 2).is(Sense::piece))));
    if (!between && !comma) return -1;
  }
  return -1;
}

/// Further numbers after "bags": "fifty six and fifty seven".
void add_list(Draft& draft, Of of, At last) {
  for (At i = last + 1; i < draft.size();) {
    const At next = draft.at(i).comma() && draft.at(i + 1).is("and") ? i + 2 : i + 1;
    if (!draft.at(i).comma() && !draft.at(i).is("and") && !draft.at(i).is("to")) return;
    const Label label = read_label(draft, next);
    if (label.digits.empty()) return;
    if (draft.at(label.last + 1).rock() || draft.at(label.last + 1).is(Sense::piece)) return;
    add(draft, of, next, label, next, false);
    i = label.last + 1;
  }
}

/// "Bag for that one seven two", "bag on this is forty": the number behind the words for whose bag
/// it is; −1: there is none that goes on with the bags.
At behind_whose(const Draft& draft, At bag) {
  if (!draft.at(bag + 1).any_of({"for", "on", "of"})) return -1;
  const At whose = bag + 2;
  if (!draft.at(whose).is(Sense::determiner) && !draft.at(whose).is(Sense::one) &&
      !draft.at(whose).is(Sense::restart))
    return -1;
  At number = draft.skip(whose, {Sense::determiner, Sense::one, Sense::is, Sense::restart});
  const auto goes_on = [&](At i) {
    return goes_on_from(read_label(draft, i).digits, draft.context.last_bag);
  };
  // "that one, seven two": the "one" is no digit
  if (!goes_on(number)) {
    if (draft.at(number).text != "1" && !draft.at(number).is("one")) return -1;
    ++number;
    if (draft.at(number).comma()) ++number;
  }
  return draft.at(number).number() && goes_on(number) ? number : -1;
}

/// "The bag for sample two, I said eighteen, didn't I, it's actually twenty eight": the last number
/// of the sentence, behind a verb, is the bag's.
bool bag_after_doubt(Draft& draft, At bag) {
  if (!points_at(draft.at(bag + 1))) return false;
  const At which = draft.skip(bag + 2, {Sense::sample, Sense::number, Sense::determiner});
  const Label sample = read_label(draft, which);
  if (sample.digits.empty()) return false;
  bool doubted = false;
  for (At k = sample.last + 1; k < draft.size() && !draft.at(k).stop(); ++k) {
    doubted = doubted || draft.at(k).any_of({"i said", "we said", "i gave", "i called", "said"});
    const bool verb = draft.at(k).any_of({"it's", "it is", "should be", "that's"}) ||
                      draft.at(k).is(Sense::is) || draft.at(k).is(Sense::soft_correction);
    if (!doubted || !verb) continue;
    const Label label = read_label(draft, k + 1);
    if (label.digits.empty() || !draft.at(label.last + 1).mark()) continue;
    add(draft, Of::sample, which, sample, which, true, true);
    add(draft, Of::bag, bag, label, k + 1, false);
    return true;
  }
  return false;
}

void named_label(Draft& draft, Of of, At word) {
  const bool several = draft.at(word).text.ends_with("s") && !draft.at(word).text.ends_with("'s");
  const bool wished_bag = of == Of::bag && draft.at(word - 1).is(Sense::toward);
  // "bag for sample eighteen is fifty one"
  if (of == Of::bag && points_at(draft.at(word + 1))) {
    const At which = draft.skip(word + 2, {Sense::sample, Sense::number, Sense::determiner});
    const Label sample = read_label(draft, which);
    At verb = sample.last + 1;
    if (draft.at(verb).comma() && draft.at(verb + 1).is(Sense::restart))
      ++verb;  // "wrong bag for thirty one, it's two twenty"
    if (!sample.digits.empty() &&
        (draft.at(verb).is(Sense::is) || draft.at(verb).is(Sense::correction) ||
         draft.at(verb).is(Sense::restart))) {
      const At number = draft.skip(verb + 1, {Sense::bag, Sense::number});
      if (const Label bag = read_label(draft, number); !bag.digits.empty()) {
        add(draft, Of::sample, which, sample, which, true, true);
        add(draft, Of::bag, word, bag, number, false);
        return;
      }
    }
  }
  if (of == Of::bag && bag_after_doubt(draft, word)) return;
  At number = skip_to_number(draft, word + 1);
  if (number < 0 && of == Of::bag) number = behind_whose(draft, word);
  if (number < 0) return;
  const Label label = read_label(draft, number);
  if (label.digits.empty()) return;
  // "bag two of those", "sample three more": counts, not numbers.
  if (draft.at(label.last + 1).is(Sense::preposition) || draft.at(label.last + 1).is("more")) {
    if (number == word + 1 && draft.at(label.last + 1).is("more")) return;
    if (wished_bag) return;
  }
  // "my bag numbers are one out"
  if (draft.at(label.last + 1).any_of({"out", "off", "short"}) && draft.at(label.last + 2).mark())
    return;
  // "keep bag forty three for the slate"
  if (of == Of::bag && draft.at(word - 1).any_of({"keep", "save", "reserve", "keeping", "saving"}))
    return;
  // "bag sixteen's mine", "bag sixteen is taken": it holds something else
  const At holds = draft.at(label.last + 1).is(Sense::is) ? label.last + 2 : label.last + 1;
  if (of == Of::bag && (holds > label.last + 1 || draft.at(label.last).possessive) &&
      draft.at(holds).any_of({"mine", "taken", "gone", "full", "used", "spoken", "yours"}))
    return;
  // "bag sixteen spare": nothing is in it
  if (of == Of::bag && draft.at(label.last + 1).any_of({"spare", "empty", "unused", "blank"}) &&
      draft.at(label.last + 2).mark())
    return;
  const Item& before = draft.at(word - 1);
  const bool reference =
      of == Of::sample &&
      (points_at(before) || (before.is(Sense::determiner) && points_at(draft.at(word - 2))));
  add(draft, of, word, label, number, reference);
  if (several || draft.at(word - 1).is("both")) add_list(draft, of, label.last);
}

/// "two samples at once, twenty four and twenty five"
void listed_after(Draft& draft, At word) {
  for (At i = word + 1; i <= word + 5; ++i) {
    if (draft.at(i).stop()) return;
    if (!draft.at(i).comma()) continue;
    const Label label = read_label(draft, i + 1);
    if (label.digits.empty() || draft.at(label.last + 1).rock()) return;
    add(draft, Of::sample, i + 1, label, i + 1, false);
    add_list(draft, Of::sample, label.last);
    return;
  }
}

/// "Photo number one oh four", "the map sheet is number fourteen", "number one priority": a number
/// of something else.
bool numbers_other_thing(const Draft& draft, At number_word, At last) {
  if (draft.at(last + 1).any_of({"priority", "choice", "rule", "reason", "problem", "thing"}))
    return true;
  const Item& before = draft.at(number_word - 1);
  if (before.any_of({"photo", "photograph", "picture", "frame", "image", "page",
                     "sheet", "map",        "channel", "team",  "party", "group",
                     "day",   "figure",     "square",  "look",  "count", "tally",
                     "batch", "radio",      "phone",   "room",  "line",  "version"}))
    return true;
  const Item& owner = draft.at(number_word - 2);
  return before.is(Sense::is) && owner.kind == Item::Kind::word && owner.sense == Sense::none &&
         !owner.text.ends_with("'s") &&
         !owner.any_of({"mine", "yours", "his", "hers", "ours", "this", "that", "it", "next",
                        "here", "now", "so", "okay", "one", "which", "what", "thing"});
}

}  // namespace

void find_named(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    if (draft.at(i).is(Sense::bag)) {
      named_label(draft, Of::bag, i);
    } else if (draft.at(i).is(Sense::sample)) {
      const std::size_t before = draft.labels.size();
      named_label(draft, Of::sample, i);
      if (draft.labels.size() == before && draft.at(i).text.starts_with("samples"))
        listed_after(draft, i);
    }
  }
  // "rock ten, bag one two three"
  for (At i = 0; i < draft.size(); ++i) {
    if (!draft.at(i).any_of({"rock", "stone"}) || draft.at(i + 1).used) continue;
    const Label label = read_label(draft, i + 1);
    const At bag = draft.at(label.last + 1).comma() ? label.last + 2 : label.last + 1;
    const bool opening = opens(draft, i) && !is_known(draft, label.digits);
    if (label.digits.empty() || !opening || !draft.has_label(Of::bag)) continue;
    if (draft.at(bag).is(Sense::bag) || draft.at(bag).is(Sense::is) || draft.at(bag).rock())
      add(draft, Of::sample, i, label, i + 1, false);
  }
  // "number eleven", where no bag was named just before
  for (At i = 0; i < draft.size(); ++i) {
    if (!draft.at(i).is(Sense::number) || draft.at(i + 1).used) continue;
    const Label label = read_label(draft, i + 1);
    if (label.digits.empty() || numbers_other_thing(draft, i, label.last)) continue;
    const bool of_bag =
        draft.any(i - 3, i - 1, [](const Item& item) { return item.is(Sense::bag); }) ||
        draft.at(i).any_of({"labelled", "labeled", "marked"});
    add(draft, of_bag ? Of::bag : Of::sample, i, label, i + 1, points_at(draft.at(i - 1)), true);
  }
}

}  // namespace stonecall::reading::labels
