#include <algorithm>
#include <array>
#include <cstdlib>
#include <string_view>

#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;
using Of = LabelSaid::Of;

bool points_at(const Item& item) {
  return item.is(Sense::toward) || item.is(Sense::preposition) ||
         item.any_of({"on", "about", "with", "from", "at", "in", "to"});
}

/// Letters before a number on a bag or a tag: "A nineteen", "kilo seven", "R S dash twelve". Only
/// the digits count.
bool is_letter_of_label(const Item& item) {
  static constexpr std::array<std::string_view, 33> spelt{
      "alpha",  "alfa",   "bravo",   "charlie", "delta",   "echo",   "foxtrot",  "golf",   "hotel",
      "india",  "juliet", "juliett", "kilo",    "lima",    "mike",   "november", "oscar",  "papa",
      "quebec", "romeo",  "sierra",  "tango",   "uniform", "victor", "whiskey",  "whisky", "xray",
      "x ray",  "yankee", "zulu",    "dash",    "hyphen",  "slash"};
  const bool one_letter = item.text.size() == 1 && item.text[0] >= 'a' && item.text[0] <= 'z';
  return !item.mark() && !item.number() &&
         (one_letter || std::find(spelt.begin(), spelt.end(), item.text) != spelt.end());
}

/// Past the letters of a label to its number; `i` itself where no such label stands there.
At skip_letters(const Draft& draft, At i) {
  At number = i;
  while (number < i + 3 && is_letter_of_label(draft.at(number))) ++number;
  return draft.at(number).number() ? number : i;
}

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

bool of_time(const Draft& draft, At i, const Label& label) {
  const Item& before = draft.at(i - 1);
  return before.any_of({"at", "time", "by", "until", "till"}) ||
         (before.is(Sense::is) && draft.at(i - 2).is("time")) ||
         draft.at(label.last + 1)
             .any_of({"minutes", "minute", "hours", "seconds", "o'clock", "past", "degrees"});
}

/// "Thirty seven: komatiite, fist size", "thirty six a quarter in the ground": a number that begins
/// the note, goes on with the field numbers, and something said of a sample behind it. Not a count
/// ("thirty basalts, six schists").
bool opens_with_next(const Draft& draft, At i, const Label& label) {
  if (label.digits.size() < 2 || !in_series(label.digits, draft.context.last_sample)) return false;
  for (At k = 0; k < i; ++k) {
    const Item& item = draft.at(k);
    if (!item.mark() && !item.is(Sense::conj) && !item.is(Sense::filler) && !item.is(Sense::now) &&
        !item.is(Sense::pick) && !item.is(Sense::finished) &&
        !item.any_of({"okay", "ok", "right", "so", "well", "taken", "got", "yes"}))
      return false;
  }
  const Item& after = draft.at(label.last + 1);
  if (after.is(Sense::percent) || after.is(Sense::unit) || after.is(Sense::piece) ||
      after.is(Sense::count) || after.is(Sense::in_a_row) || after.number() ||
      after.any_of({"more", "of", "out", "to", "or"}) || of_time(draft, i, label))
    return false;
  bool counts = false;
  for (At k = label.last + 1; k + 1 < draft.size() && !counts; ++k)
    counts = draft.at(k).number() && draft.at(k + 1).rock();
  return !counts && draft.any(label.last + 1, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::bag) || item.is(Sense::compare) || item.is(Sense::unit) ||
           item.is(Sense::sized) || item.is(Sense::burial) || item.is(Sense::buried) ||
           item.is(Sense::loose) || item.is(Sense::pick);
  });
}

void add(Draft& draft, Of of, At first, const Label& label, At number, bool reference,
         bool bare = false) {
  const bool series = of == Of::sample && in_series(label.digits, draft.context.last_sample) &&
                      (label.digits.size() >= 3 || opens_with_next(draft, number, label));
  draft.labels.push_back(
      {of, label.digits, first, label.last, number, reference, bare, false, series});
  draft.use(number, label.last);
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
  if (draft.at(label.last + 1).any_of({"out", "off", "short"})) return;
  // "keep bag forty three for the slate"
  if (of == Of::bag && draft.at(word - 1).any_of({"keep", "save", "reserve", "keeping", "saving"}))
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

/// Whether the field number of a sample stands right before item `last + 1`, nothing else before it
/// in its clause.
bool ends_with_known_sample(const Draft& draft, At last) {
  const At begin = draft.clause_begin(last);
  const At number = draft.skip(begin, {Sense::filler, Sense::conj, Sense::sample, Sense::number});
  const Label label = read_label(draft, number);
  return !label.digits.empty() && label.last == last &&
         draft.context.samples.contains(label.digits);
}

/// "four goes in thirty four", "bagged it in A twelve as four oh two"
void bagged_in(Draft& draft, At in) {
  if (!draft.at(in).any_of({"in", "into"})) return;
  const At number = skip_letters(draft, in + 1);
  const Label label = read_label(draft, number);
  if (label.digits.empty()) return;
  // "one in a hundred"
  if (draft.at(in - 1).number() && label.digits.ends_with("00")) return;
  // "I'd put it at six in ten"
  if (draft.at(in - 1).number() && draft.at(in - 2).any_of({"at", "about", "around", "say"}))
    return;
  const bool series = label.digits.size() >= 3 && in_series(label.digits, draft.context.last_bag);
  const bool lettered = number > in + 1;
  const bool put = draft.any(in - 4, in - 1, [](const Item& item) {
    return item.any_of({"goes", "went", "put it", "put", "puts", "popped", "going", "dropped",
                        "stuck", "stuffed", "bagged", "bagged it", "bagging", "bag it"});
  });
  const bool is_in = draft.at(in - 1).any_of({"it's", "that's"}) &&
                     (draft.any(0, in, [](const Item& item) { return item.is(Sense::bag); }) ||
                      in_series(label.digits, draft.context.last_bag));
  // "three oh three in seven two"
  const bool of_known = ends_with_known_sample(draft, in - 1) && label.digits.size() >= 2 &&
                        goes_on_from(label.digits, draft.context.last_bag);
  if (!put && !is_in && !lettered && !series && !of_known) return;
  const Item& after = draft.at(label.last + 1);
  const bool ends = after.mark() || after.is(Sense::conj) || after.is(Sense::restart) ||
                    after.is(Sense::toward) || after.is(Sense::filler) || after.is(Sense::but) ||
                    after.is(Sense::sample) || after.is(Sense::number) || after.is("as");
  if (ends || series) add(draft, Of::bag, in, label, number, false);
}

/// "B sixteen", "K seven": a letter and a number that goes on with the bags, or where nothing is
/// known of bags yet beside a sample.
void lettered_bags(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& letter = draft.at(i);
    const bool plain = letter.sense == Sense::none || letter.is("a");
    if (!is_letter_of_label(letter) || !plain || letter.used || letter.is("dash") ||
        draft.at(i - 1).is(Sense::sample) || draft.at(i - 1).is(Sense::number) ||
        draft.at(i - 1).is(Sense::determiner) || is_letter_of_label(draft.at(i - 1)) ||
        draft.at(i - 1).any_of({"grid", "square", "vitamin", "point", "block", "section", "line",
                                "channel", "route", "camp", "room", "sheet", "map", "road"}))
      continue;
    const At number = skip_letters(draft, i);
    if (number == i || draft.at(number).used) continue;
    const Label label = read_label(draft, number);
    if (label.digits.empty()) continue;
    const Item& after = draft.at(label.last + 1);
    const bool ends = after.mark() || after.is(Sense::conj) || after.is(Sense::toward) ||
                      after.is(Sense::restart) || after.is(Sense::is) || after.is(Sense::now) ||
                      after.is("as") || (!letter.is("a") && !after.rock());
    const bool of_bags = goes_on_from(label.digits, draft.context.last_bag) &&
                         !in_series(label.digits, draft.context.last_sample);
    if (!ends || !of_bags) continue;
    // "bag eighty three: B fifteen"
    if (!draft.labels.empty() && draft.at(i - 1).comma()) {
      LabelSaid& owner = draft.labels.back();
      if (owner.of == Of::bag && owner.last == i - 2 &&
          draft.context.samples.contains(owner.digits))
        owner.of = Of::sample;
    }
    add(draft, Of::bag, i, label, number, false);
  }
}

void make_digit(Item& item, int digit) {
  item.kind = Item::Kind::number;
  item.sense = Sense::none;
  item.low = digit;
  item.text = std::to_string(digit);
  item.digit = true;
}

/// "sample for twenty three" where four twenty two was the last: a word that sounds like a digit
/// and makes a number of the series.
void hear_digits(Draft& draft) {
  static constexpr std::array<std::pair<std::string_view, int>, 5> sounds{
      {{"for", 4}, {"to", 2}, {"too", 2}, {"won", 1}, {"ate", 8}}};
  for (At i = 0; i + 1 < draft.size(); ++i) {
    const auto sound = std::find_if(sounds.begin(), sounds.end(),
                                    [&](const auto& entry) { return draft.at(i).is(entry.first); });
    if (sound == sounds.end()) continue;
    const Item& next = draft.at(i + 1);
    // "I've got sixty for that's slate": no preposition, and a number that goes on with the series
    Item& tens = draft.edit(std::max<At>(i - 1, 0));
    if (i > 0 && tens.number() && tens.round_tens && tens.text.size() == 2 && tens.text[0] > '1' &&
        (next.mark() || next.is(Sense::restart) || next.is(Sense::is) || next.is(Sense::bag))) {
      const std::string joined = tens.text.substr(0, 1) + std::to_string(sound->second);
      if (in_series(joined, draft.context.last_sample) ||
          in_series(joined, draft.context.last_bag)) {
        tens.text = joined;
        tens.low += sound->second;
        tens.round_tens = false;
        tens.words.end = draft.at(i).words.end;
        draft.items.erase(draft.items.begin() + i);
      }
      continue;
    }
    // "too oh three"
    if (next.is("oh") && draft.at(i + 2).digit) {
      const std::string joined = std::to_string(sound->second) + "0" + draft.at(i + 2).text;
      if (in_series(joined, draft.context.last_sample) ||
          in_series(joined, draft.context.last_bag)) {
        make_digit(draft.edit(i), sound->second);
        make_digit(draft.edit(i + 1), 0);
      }
      continue;
    }
    if (!next.number() || next.text.size() != 2) continue;
    const std::string joined = std::to_string(sound->second) + next.text;
    if (!in_series(joined, draft.context.last_sample) && !in_series(joined, draft.context.last_bag))
      continue;
    make_digit(draft.edit(i), sound->second);
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

bool photo_item(const Item& item) {
  return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
         item.is(Sense::after_weak) || item.is(Sense::pair) || item.is(Sense::photo);
}

bool opens(const Draft& draft, At i) {
  At k = i - 1;
  while (k >= 0 && (draft.at(k).is(Sense::conj) || draft.at(k).is(Sense::soft_correction) ||
                    draft.at(k).is(Sense::correction) || draft.at(k).is(Sense::filler) ||
                    draft.at(k).is(Sense::but) ||
                    draft.at(k).any_of({"so", "ok", "okay", "right", "well", "that", "base", "now",
                                        "is", "wait", "yeah", "yes", "yep", "you're"}) ||
                    draft.at(k).is(Sense::now))) {
    --k;
  }
  return draft.at(k).mark() || draft.at(k).is(Sense::because);
}

/// "That'll be sixty two", "so call it seventy", "this is sixty six": what gives a thing its
/// number.
bool gives_number(const Item& item) {
  return item.any_of({"that'll be", "this'll be", "it'll be", "that will be", "this will be",
                      "it will be", "that'd be", "that would be", "that's", "that is", "this is",
                      "call it", "call that", "call this"}) ||
         item.is("it's");
}

/// The item behind the verb and the little words that lead to a bag: "sixty nine and that's in
/// bag", "sixty two in bag", "sixty two goes in bag".
At behind_link(const Draft& draft, At i) {
  for (At k = i; k <= i + 4; ++k) {
    const Item& item = draft.at(k);
    const bool link = item.is(Sense::conj) || item.is(Sense::at) || item.is(Sense::determiner) ||
                      item.is(Sense::filler) || item.is(Sense::is) || item.is(Sense::now) ||
                      item.comma() ||
                      item.any_of({"it's", "that's", "goes", "going", "went", "into", "is"});
    if (!link) return k;
  }
  return i;
}

/// Whether a bag is given right behind item i, as for a new sample.
bool bag_follows(const Draft& draft, At i) {
  const At bag = behind_link(draft, i);
  return std::any_of(draft.labels.begin(), draft.labels.end(), [&](const LabelSaid& label) {
    return label.of == Of::bag && (label.first == bag || (bag > i && label.first == bag - 1));
  });
}

bool is_known(const Draft& draft, const std::string& digits) {
  return draft.context.samples.contains(digits);
}

/// A number of two digits or more close to the last sample's that no sample has yet.
bool comes_next(const Draft& draft, const std::string& digits) {
  constexpr int few = 3;
  return digits.size() >= 2 && in_series(digits, draft.context.last_sample) &&
         digits != draft.context.last_sample && !is_known(draft, digits) &&
         std::abs(std::atoi(digits.c_str()) - std::atoi(draft.context.last_sample.c_str())) <= few;
}

/// "In bag for forty": four hundred and forty, where the sample is named elsewhere, so that the bag
/// is not one "for" a sample.
void hear_first_digit(Draft& draft) {
  for (At i = 1; i + 2 < draft.size(); ++i) {
    if (!draft.at(i).is(Sense::bag) || !draft.at(i - 1).any_of({"in", "into"})) continue;
    const Item& next = draft.at(i + 2);
    if (!draft.at(i + 1).is("for") || !next.number() || next.digit || next.text.size() != 2 ||
        (!draft.at(i + 3).mark() && !draft.at(i + 3).is(Sense::conj)))
      continue;
    bool named = false;
    for (At k = 0; k < i && !named; ++k) {
      named = (draft.at(k).is(Sense::sample) || draft.at(k).is(Sense::number)) &&
              draft.at(k + 1).number() && draft.at(k + 1).text != next.text;
    }
    if (named) make_digit(draft.edit(i + 1), 4);
  }
}

/// Whether a bare number, `label` at item i, stands for a sample.
bool names_sample(const Draft& draft, At i, const Label& label, bool photos, bool bags) {
  // "two cross sun frames": a count
  if (photo_item(draft.at(label.last + 1)) && draft.at(label.last + 1).text.ends_with("s") &&
      draft.at(i).low <= 4)
    return false;
  const Item& before = draft.at(i - 1);
  const Item& after = draft.at(label.last + 1);
  // "nine are dolerite", "nine of them": a number of rocks, unless more samples are named with it
  const bool plural =
      (after.any_of({"are", "were"}) &&
       !(photos && before.any_of({"of", "for"}) && is_known(draft, label.digits))) ||
      (after.is("of") && draft.at(label.last + 2).any_of({"them", "these", "those"}));
  // "two are gneiss, one is basalt"
  if (label.digits.size() == 1) {
    for (At k = 0; k < i; ++k)
      if (draft.at(k).number() && draft.at(k + 1).any_of({"are", "were"})) return false;
  }
  if (plural && !(before.any_of({"and", ","}) && draft.at(i - 2).number())) return false;
  // "chip four eleven bag thirty"
  if (after.is(Sense::bag) && bags && !before.any_of({"in", "into"})) return true;
  // "bagged it in thirty four as four fourteen"
  if (before.is("as") && (bags || draft.any(0, i - 1, [](const Item& item) {
        return item.is(Sense::pick) || item.is(Sense::bag) ||
               item.any_of({"going in", "goes in", "went in", "going", "goes", "went"});
      })))
    return true;
  // A number of three digits that goes on with the field numbers is one, unless it is a time.
  if (label.digits.size() >= 3 && in_series(label.digits, draft.context.last_sample) &&
      !before.any_of({"in", "into"}) && !of_time(draft, i, label))
    return true;
  if (opens_with_next(draft, i, label)) return true;
  const bool counted =
      after.is(Sense::percent) || after.is(Sense::unit) || after.is(Sense::piece) || after.rock() ||
      after.kind == Item::Kind::fraction || of_time(draft, i, label) || before.is(Sense::approx) ||
      after.any_of({"paces", "steps", "times", "metres", "people", "degrees"}) ||
      (after.any_of({"more", "out", "of", "to", "or"}) && !draft.at(label.last).possessive);
  const bool numbered = draft.has_label(Of::sample);
  // "that'll be sixty two in bag forty", "the size of my thumbnail sixty nine and that's in bag
  // forty"
  // "we broke it and ten's slate"
  if (draft.at(label.last).possessive && after.rock() && is_known(draft, label.digits) &&
      !draft.at(i - 1).any_of({"next", "last", "this", "that", "the"}))
    return true;
  const bool next_one = comes_next(draft, label.digits);
  // "that's two in bag forty" counts, unless the last one was number one
  const bool by_itself =
      label.digits.size() >= 2 ||
      std::atoi(label.digits.c_str()) == std::atoi(draft.context.last_sample.c_str()) + 1;
  const bool in_bag_behind = bag_follows(draft, label.last + 1);
  if (!counted && bags && !numbered && gives_number(before) && in_bag_behind && by_itself)
    return true;
  // "agate for forty three, golf ball, bag six", "the walnut sized one is sixteen": what goes on
  // with the field numbers and neither counts nor measures, wherever it stands
  const bool free_standing = !counted && !numbered && !before.any_of({"in", "into", "between"}) &&
                             !after.any_of({"by", "plus"});
  if (free_standing && bags && next_one) return true;
  const bool described = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::compare) || item.is(Sense::buried) || item.is(Sense::burial);
  });
  if (free_standing && described && label.digits.size() >= 2 && is_known(draft, label.digits))
    return true;
  // "sixty five is the schist in forty three"
  // "seven for me is granite, bag twelve"
  if (bags && !numbered && opens(draft, i) && after.is("for") &&
      draft.at(label.last + 2).any_of({"me", "us"}) && draft.at(label.last + 3).is(Sense::is))
    return true;
  // "change twenty one to slate", "it's slate, twenty two I mean"
  if (label.digits.size() >= 2 && is_known(draft, label.digits) &&
      ((before.is("change") && after.is("to")) || (after.is("i mean") && before.mark())))
    return true;
  // "I thought eighteen was slate"
  if (!counted && before.is("thought") && after.is(Sense::is) && is_known(draft, label.digits))
    return true;
  // "Otto's pumice is fifteen in bag six"
  if (bags && !numbered && before.is(Sense::is) && in_bag_behind && is_known(draft, label.digits))
    return true;
  const bool is_behind = after.is(Sense::is) || after.any_of({"is the", "is a", "is one"});
  if (!counted && bags && label.digits.size() >= 2 && is_known(draft, label.digits) && is_behind)
    return true;
  // "thirty's more like a foot long"
  if (draft.at(label.last).possessive && opens(draft, i) && after.is("more") &&
      draft.at(label.last + 2).is("like") && is_known(draft, label.digits))
    return true;
  if (after.is(Sense::percent) || after.is(Sense::unit) || after.is(Sense::side) ||
      after.is(Sense::piece) || after.rock() ||
      after.any_of({"more", "minutes", "minute", "hours", "seconds", "out", "in", "o'clock", "past",
                    "degrees", "times", "of", "to"}) ||
      after.kind == Item::Kind::fraction) {
    const bool in_bag = after.is("in") && (draft.at(label.last + 2).is(Sense::bag) ||
                                           draft.at(label.last + 3).is(Sense::bag));
    const bool opens_description = after.rock() && bags && opens(draft, i);
    const bool to_bag = after.is("to") && draft.at(label.last + 2).is(Sense::bag);
    const bool to_rock = after.is("to") && draft.at(label.last + 2).rock();
    if (!in_bag && !opens_description && !to_bag && !to_rock) return false;
  }
  // "a bit of hornfels one fifteen bag fifty five"
  if (bags && before.rock() && after.is(Sense::bag)) return true;
  if (before.is("time") || (before.is("is") && draft.at(i - 2).is("time"))) return false;
  if (before.is(Sense::one) || before.is(Sense::number)) return true;
  const bool seen = is_known(draft, label.digits);
  const bool corrects = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::correction) || item.is(Sense::soft_correction);
  });
  if (corrects && seen && points_at(before)) return true;
  if (before.is(Sense::is) && draft.at(i - 2).is(Sense::one) &&
      draft.at(i - 2).text.ends_with("sample"))
    return true;
  // "and one with the sun behind me", "one pair taken": a picture
  if (photos && label.digits == "1" && draft.context.last_sample.size() > 1 &&
      (after.is("with") || photo_item(after)))
    return false;
  // "shot twenty nine thirty and thirty one": each of a list
  const auto known_at = [&](At k) {
    const Label other = read_label(draft, k);
    return other.digits.size() >= 2 && is_known(draft, other.digits);
  };
  if (photos && label.digits.size() >= 2 && is_known(draft, label.digits) &&
      (known_at(label.last + 1) || (after.is("and") && known_at(label.last + 2)) ||
       (draft.at(i - 1).number() && draft.at(i - 1).used)))
    return true;
  if (photos) {
    const bool says_taken = after.any_of(
        {"taken", "documented", "shot", "all shot", "all taken", "in the can", "photographed"});
    // "all the photos done for five, stereo, down sun"
    const bool done_for = draft.at(i - 2).is(Sense::finished) || draft.at(i - 2).is(Sense::photo);
    if (points_at(before) && (!photo_item(after) || says_taken || done_for)) return true;
    if (before.any_of({"lifting", "removing", "lifted"})) return true;
    // "and one down sun for ten": a count
    const bool pointed_at_other = draft.any(label.last + 1, draft.size() - 1, [](const Item& item) {
      return item.number();
    }) && draft.any(label.last + 1, draft.size() - 1, [](const Item& item) {
      return item.is("for") || item.is("on") || item.is("of");
    });
    if (photo_item(after) && draft.at(i).low <= 2 && pointed_at_other) return false;
    if (opens(draft, i) && !after.any_of({"frames"}) &&
        (!photo_item(after) || !after.any_of({"frames", "pictures", "photos", "shots", "pics"})))
      return true;
    if (before.comma() && after.mark()) return true;
    if (photo_item(before) &&
        (after.mark() || photo_item(after) || after.is(Sense::conj) || after.is(Sense::finished)))
      return true;
    // "stereo and one down sun" counts pictures
    if (draft.at(i - 1).is(Sense::conj) && photo_item(after) &&
        (draft.at(i).low > 2 || is_known(draft, label.digits)))
      return true;
  }
  if (before.is("where") || before.text.ends_with(" where")) return true;
  const bool verb =
      after.is(Sense::is) || after.is(Sense::not_) ||
      after.any_of({"goes",     "went",   "has",  "had",   "in",        "isn't", "wasn't",
                    "into",     "weighs", "came", "needs", "should be", "looks", "turned out",
                    "measures", "to",     "is a", "is an", "was a",     "was an"});
  if (opens(draft, i) && after.is(Sense::is) && draft.at(label.last + 2).is(Sense::pick))
    return true;
  // "twenty and twenty one are in bags …"
  if (bags && opens(draft, i) && after.is("and") && draft.at(label.last + 2).number()) return true;
  // "four twenty four's the pegmatite"
  const bool contracted =
      draft.at(label.last).possessive &&
      (bags || is_known(draft, label.digits) || draft.at(label.last + 2).rock());
  if (opens(draft, i) && contracted) return true;
  if (opens(draft, i) && verb) {
    const bool known = is_known(draft, label.digits);
    if (bags || known || label.digits == draft.context.last_sample) return true;
    // "eleven is three inches by two": measured, so a sample.
    if (draft.any(label.last + 1, draft.sentence_end(i), [](const Item& item) {
          return item.is(Sense::unit) || item.is(Sense::compare) || item.is(Sense::buried) ||
                 item.is(Sense::burial);
        }))
      return true;
  }
  if (bags && opens(draft, i) &&
      (after.is(Sense::bag) || after.rock() || after.comma() || after.is(Sense::compare) ||
       after.is(Sense::colour) || (after.stop() && label.last + 2 < draft.size())))
    return true;
  // "three hundred and one, that's a lump of gneiss, bag seventy"
  if (bags && opens(draft, i) && after.is(Sense::restart) && label.digits.size() >= 2) return true;
  // "eighty one, gabbro, fist sized": the first one of all
  if (draft.context.last_sample.empty() && label.digits.size() >= 2 && described &&
      opens(draft, i) && after.mark() && draft.at(label.last + 2).rock())
    return true;
  if (bags && (before.is("of") || before.is("for")) &&
      draft.any(i - 3, i - 1, [](const Item& item) {
        return item.is(Sense::piece) || item.is(Sense::bag) || item.any_of({"half", "part"});
      }))
    return true;
  if (before.is(Sense::pick) && (after.mark() || after.is(Sense::bag))) return true;
  // "pair done on one"
  if (photos && before.is(Sense::finished) &&
      (before.text.ends_with(" on") || before.text.ends_with(" with")))
    return true;
  if (before.comma() && draft.at(i - 2).is(Sense::pick) && (after.mark() || after.is(Sense::bag)))
    return true;
  return false;
}

/// "Stereo for four", where three oh four has been taken: only the last digits are said. The whole
/// number, or the digits as they are.
std::string completed(const Draft& draft, const std::string& digits) {
  const std::string& last = draft.context.last_sample;
  if (last.size() < 3 || digits.size() >= last.size() || is_known(draft, digits)) return digits;
  const std::string full = last.substr(0, last.size() - digits.size()) + digits;
  return is_known(draft, full) ? full : digits;
}

/// "Nine oh five or nine oh six": neither is given.
void deny_choices(Draft& draft) {
  for (LabelSaid& one : draft.labels) {
    for (LabelSaid& other : draft.labels) {
      if (one.of == other.of && other.first == one.last + 2 && draft.at(one.last + 1).is("or"))
        one.denied = other.denied = true;
    }
  }
}

bool stated(const Draft& draft, const LabelSaid& label) {
  return !label.denied && draft.at(label.number).mutes == 0;
}

}  // namespace

void find_labels(Draft& draft) {
  hear_digits(draft);
  hear_first_digit(draft);
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
  lettered_bags(draft);
  for (At i = 1; i < draft.size(); ++i) bagged_in(draft, i);
  bool photos = draft.any(0, draft.size() - 1, [](const Item& item) {
    return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
           item.is(Sense::pair) ||
           item.any_of({"photographed", "documented", "photographs", "photos", "pictures", "frames",
                        "camera"});
  });
  // "after of nine"
  for (At i = 0; i < draft.size(); ++i)
    photos = photos || (draft.at(i).is(Sense::after_weak) && draft.at(i + 1).is("of"));
  // "forty two tephrite six seventeen": what goes on with the bags, beside a sample or a kind
  for (At i = 0; i < draft.size(); ++i) {
    if (!draft.at(i).number() || draft.at(i).used) continue;
    const Label label = read_label(draft, i);
    if (label.digits.size() < 3 || !in_series(label.digits, draft.context.last_bag) ||
        in_series(label.digits, draft.context.last_sample) || of_time(draft, i, label) ||
        draft.at(i - 1).any_of({"in", "of", "per"}))
      continue;
    add(draft, Of::bag, i, label, i, false);
  }
  deny_choices(draft);
  const bool bags = draft.has_label(Of::bag);
  for (At i = 0; i < draft.size(); ++i) {
    if (!draft.at(i).number() || draft.at(i).used) continue;
    Label label = read_label(draft, i);
    const Item& verb = draft.at(label.last + 1);
    if (label.digits.size() > 1 && opens(draft, i) &&
        (verb.is(Sense::not_) || (verb.is(Sense::is) && !verb.any_of({"are", "were"}))))
      label.digits = completed(draft, label.digits);
    if (!label.digits.empty() && names_sample(draft, i, label, photos, bags)) {
      const bool fresh = bags && comes_next(draft, label.digits);
      add(draft, Of::sample, i, label, i, points_at(draft.at(i - 1)) && !fresh,
          !draft.at(i - 1).is("as"));
      if (photos || bags) {
        for (At k = label.last; draft.at(k + 1).is("and") && draft.at(k + 2).number();) {
          const Label next = read_label(draft, k + 2);
          const Item& beyond = draft.at(next.last + 1);
          const bool ends = beyond.mark() || beyond.is(Sense::is) ||
                            beyond.any_of({"have", "had", "have been", "both", "got"}) ||
                            beyond.is(Sense::filler) || beyond.is(Sense::finished) ||
                            photo_item(beyond);
          if (next.digits.empty() || !ends) break;
          add(draft, Of::sample, k + 2, next, k + 2, points_at(draft.at(i - 1)), true);
          k = next.last;
        }
      }
    }
  }
  for (LabelSaid& label : draft.labels)
    if (label.of == Of::sample) label.digits = completed(draft, label.digits);
}

void read_samples(Draft& draft) {
  const auto has = [&](auto is) {
    return std::any_of(draft.proposals.begin(), draft.proposals.end(),
                       [&](const Proposal& proposal) { return is(proposal.fact); });
  };
  const bool described = has([](const Fact& fact) {
    return std::holds_alternative<LongestSide>(fact) || std::holds_alternative<BuriedPart>(fact);
  });
  const bool pictured =
      has([](const Fact& fact) { return std::holds_alternative<PhotoTaken>(fact); });
  const bool photos = draft.takes_photos || pictured;
  const bool rock =
      draft.any(0, draft.size() - 1, [](const Item& item) { return item.stated_rock(); });
  bool bagged = false;
  for (const LabelSaid& label : draft.labels)
    bagged = bagged || (label.of == Of::bag && stated(draft, label));

  At event_first = -1;
  At event_last = -1;
  bool known = false;
  for (const LabelSaid& label : draft.labels) {
    if (label.of != Of::sample || !stated(draft, label)) continue;
    known = known || is_known(draft, label.digits);
    // "that's number four in bag five", of the rock that was picked up a moment ago
    const bool number_of_picked = draft.context.unnumbered && !rock && !described &&
                                  (gives_number(draft.at(label.first - 1)) ||
                                   draft.at(label.first - 1).any_of({"that", "it"}));
    if (number_of_picked) continue;
    const bool alone = label.first <= 1 && label.last + 2 >= draft.size();
    const bool bare_but_full = label.bare && !(bagged && (rock || label.in_series)) &&
                               !(draft.at(label.first).is(Sense::number) && rock && described);
    if (label.reference || is_known(draft, label.digits)) continue;
    const bool bag_behind = draft.at(label.last + 1).is(Sense::bag) ||
                            (bag_follows(draft, label.last + 1) && !photos) ||
                            (comes_next(draft, label.digits) && bagged && rock);
    // "forty three is the skarn, hand sized, half buried", where forty two was the last
    const bool next_described = comes_next(draft, label.digits) && rock && described;
    if (bare_but_full && !bag_behind && !next_described) continue;
    const bool tells =
        rock || described || (bagged && !draft.at(label.last + 1).is("goes") && !photos);
    if (photos && !rock && !described) continue;
    const bool next_to_bag = bagged && draft.at(label.last + 1).is(Sense::bag) && !photos;
    const bool spoken_of = draft.at(label.last + 1).is("is") && !rock && !described;
    if ((tells && !spoken_of) || alone || next_to_bag) {
      event_first = label.first;
      event_last = label.last;
      break;
    }
  }
  if (event_first < 0 && !known && !draft.counts) {
    for (At i = 0; i < draft.size() && event_first < 0; ++i) {
      const Item& item = draft.at(i);
      if (!item.is(Sense::pick) || item.mutes) continue;
      // "I've got it at forty percent granite"
      if (item.is("i've got it") && !draft.at(i + 1).mark()) continue;
      const bool not_done = draft.any(i - 4, i - 1, [](const Item& before) {
        return before.is(Sense::sees_not) || before.is(Sense::no) || before.is(Sense::not_);
      });
      // "before we lifted it", "lifted it" with photographs: told of, not new
      const bool lifted = item.text.starts_with("lifted");
      if (lifted && (photos || draft.any(i - 4, i - 1, [](const Item& before) {
            return before.any_of({"before", "when", "until", "once", "has", "where"}) ||
                   before.is(Sense::after_weak) || before.is(Sense::wish);
          })))
        continue;
      // "the stereo of it before she grabbed it"
      const bool told_of = draft.any(i - 3, i - 1, [](const Item& before) {
        return before.any_of({"before", "when", "until", "once"});
      });
      if (told_of && photos) continue;
      const bool picked_before = draft.any(i + 1, i + 6, [](const Item& after) {
        return after.is(Sense::because);
      }) && !bagged && draft.at(i).is("picked it up");
      // "we've bagged five so far"
      const bool summed_up =
          draft.at(i + 1).number() && draft.any(i + 2, i + 4, [](const Item& after) {
            return after.any_of({"so far", "already", "up to now", "to date"});
          });
      if (!not_done && !picked_before && !summed_up) event_first = event_last = i;
    }
  }
  if (event_first >= 0) {
    draft.new_sample = true;
    draft.propose(Happened{What::sample}, event_first, event_last, 0.9);
  }

  for (const LabelSaid& label : draft.labels) {
    // "got the stereo, still need the down sun for seven": the sample is the same for both
    const bool of_pictures = pictured && label.of == Of::sample && !label.denied &&
                             draft.at(label.number).mutes == Item::wished;
    if (!stated(draft, label) && !of_pictures) continue;
    if (label.of == Of::bag) {
      draft.propose(BagNumber{label.digits}, label.first, label.last, 0.95);
    } else if (!label.bare || label.in_series || pictured || bagged || described ||
               event_first >= 0 || draft.at(label.first).is(Sense::number)) {
      draft.propose(FieldNumber{label.digits}, label.first, label.last, label.bare ? 0.8 : 0.95);
    }
  }
}

}  // namespace stonecall::reading
