#include <algorithm>
#include <array>
#include <string>
#include <string_view>
#include <utility>

#include "console/reading/labels.hpp"

namespace stonecall::reading::labels {
namespace {

void make_digit(Item& item, int digit) {
  item.kind = Item::Kind::number;
  item.sense = Sense::none;
  item.low = digit;
  item.text = std::to_string(digit);
  item.digit = true;
}

/// "sample for twenty three" where four twenty two was the last: a word that sounds like a digit
/// and makes a number of the series.
void hear_last_digits(Draft& draft) {
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

}  // namespace

void hear_digits(Draft& draft) {
  hear_last_digits(draft);
  hear_first_digit(draft);
}

}  // namespace stonecall::reading::labels
