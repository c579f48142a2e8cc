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

/// Whether a letter and a number stand from item i on, and name a bag or a sample and nothing else:
/// not a square of the map, not "a nine", not "it s two metres".
bool lettered_at(const Draft& draft, At i) {
  const Item& letter = draft.at(i);
  const Item& before = draft.at(i - 1);
  const bool plain = letter.sense == Sense::none || letter.is("a");
  return is_letter_of_label(letter) && plain && !letter.used && !letter.is("dash") &&
         !before.is(Sense::sample) && !before.is(Sense::number) && !before.is(Sense::determiner) &&
         !is_letter_of_label(before) &&
         !before.any_of({"grid",    "square", "vitamin", "point", "block", "section", "line",
                         "channel", "route",  "camp",    "room",  "sheet", "map",     "road",
                         "it",      "that",   "there",   "what",  "here",  "he",      "she",
                         "let",     "who",    "where",   "how"});
}

/// Whether what stands behind the number leaves it a label.
bool ends_label(const Draft& draft, const Item& letter, At last) {
  const Item& after = draft.at(last + 1);
  if (after.is(Sense::unit) || after.is(Sense::percent) || after.is(Sense::piece)) return false;
  return after.mark() || after.is(Sense::conj) || after.is(Sense::toward) ||
         after.is(Sense::restart) || after.is(Sense::is) || after.is(Sense::now) ||
         after.is("as") || (!letter.is("a") && !after.rock());
}

/// "B sixteen": a number that goes on with the bags.
bool of_bags(const Draft& draft, const Label& label) {
  return goes_on_from(label.digits, draft.context.last_bag) &&
         !in_series(label.digits, draft.context.last_sample);
}

/// "S one", "K seven": one that goes on with the samples or is the first of them.
bool of_samples(const Draft& draft, const Item& letter, const Label& label) {
  if (letter.any_of({"a", "i", "o"})) return false;
  const std::string& last = draft.context.last_sample;
  if (last.empty()) return draft.has_label(Of::bag);
  return is_known(draft, label.digits) || goes_on_from(label.digits, last);
}

}  // namespace

At skip_letters(const Draft& draft, At i) {
  At number = i;
  while (number < i + 3 && is_letter_of_label(draft.at(number))) ++number;
  return draft.at(number).number() ? number : i;
}

void find_lettered(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& letter = draft.at(i);
    if (!lettered_at(draft, i)) continue;
    const At number = skip_letters(draft, i);
    if (number == i || draft.at(number).used) continue;
    const Label label = read_label(draft, number);
    if (label.digits.empty()) continue;
    const bool kind_behind = draft.at(label.last + 1).rock() && draft.has_label(Of::bag);
    if (of_bags(draft, label) && ends_label(draft, letter, label.last)) {
      // "bag eighty three: B fifteen"
      if (!draft.labels.empty() && draft.at(i - 1).comma()) {
        LabelSaid& owner = draft.labels.back();
        if (owner.of == Of::bag && owner.last == i - 2 && is_known(draft, owner.digits))
          owner.of = Of::sample;
      }
      add(draft, Of::bag, i, label, number, false);
    } else if (of_samples(draft, letter, label) &&
               (kind_behind || ends_label(draft, letter, label.last))) {
      add(draft, Of::sample, i, label, number, points_at(draft.at(i - 1)));
    }
  }
}

}  // namespace stonecall::reading::labels
