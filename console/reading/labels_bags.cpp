#include <algorithm>
#include <array>
#include <string_view>

#include "console/reading/labels.hpp"

namespace stonecall::reading::labels {
namespace {

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

}  // namespace

At skip_letters(const Draft& draft, At i) {
  At number = i;
  while (number < i + 3 && is_letter_of_label(draft.at(number))) ++number;
  return draft.at(number).number() ? number : i;
}

void find_bags(Draft& draft) {
  lettered_bags(draft);
  for (At i = 1; i < draft.size(); ++i) bagged_in(draft, i);
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
}

}  // namespace stonecall::reading::labels
