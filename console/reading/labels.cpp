#include "console/reading/labels.hpp"

#include <algorithm>
#include <cstdlib>

namespace stonecall::reading {
namespace labels {
namespace {

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

/// "Sample 24, same stuff as 22", "a scoria next to 22": another than the one that is spoken of.
bool other_sample(const Draft& draft, const LabelSaid& label) {
  At before = label.first - 1;
  while (draft.at(before).is(Sense::determiner) || draft.at(before).is(Sense::sample) ||
         draft.at(before).is(Sense::number))
    --before;
  // "It's like sample forty" says it haltingly.
  if (draft.at(before).is("like"))
    return !draft.at(before - 1).is(Sense::is) && !draft.at(before - 1).any_of({"it's", "that's"});
  if (draft.at(before).any_of({"just like", "unlike", "matches", "similar to", "next to", "beside",
                               "near", "beneath", "underneath", "alongside"}))
    return true;
  if (draft.at(before).is("to"))
    return draft.at(before - 1).any_of({"similar", "identical", "next", "close"});
  return draft.at(before).is("same as") ||
         (draft.at(before).is("as") && draft.any(before - 3, before - 1, [](const Item& item) {
           return item.is("same") || item.is("the same");
         }));
}

/// What is likened to a sample, or lies beside it, has its own number, or a bag.
void drop_others(Draft& draft) {
  if (draft.labels.size() < 2) return;
  std::erase_if(draft.labels, [&](const LabelSaid& label) {
    return label.of == LabelSaid::Of::sample && other_sample(draft, label);
  });
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

}  // namespace

bool points_at(const Item& item) {
  return item.is(Sense::toward) || item.is(Sense::preposition) ||
         item.any_of({"on", "about", "with", "from", "at", "in", "to"});
}

bool photo_item(const Item& item) {
  return item.is(Sense::stereo) || item.is(Sense::down_sun) || item.is(Sense::after) ||
         item.is(Sense::after_weak) || item.is(Sense::pair) || item.is(Sense::photo);
}

bool picture_set(const Draft& draft, At i) {
  const Item& item = draft.at(i);
  if (!item.any_of({"all three", "full set", "whole set"})) return false;
  if (draft.at(i + 1).is(Sense::photo) || draft.at(i + 2).is(Sense::photo)) return true;
  const At which = draft.skip(i + 2, {Sense::sample, Sense::number, Sense::determiner});
  return !item.is("all three") && draft.at(i + 1).any_of({"on", "for", "of"}) &&
         (draft.at(which).number() || draft.at(i + 2).is(Sense::one)) &&
         !draft.at(which + 1).rock() && !draft.at(which + 1).is(Sense::piece);
}

bool of_time(const Draft& draft, At i, const Label& label) {
  const Item& before = draft.at(i - 1);
  return before.any_of({"at", "time", "by", "until", "till"}) ||
         (before.is(Sense::is) && draft.at(i - 2).is("time")) ||
         draft.at(label.last + 1)
             .any_of({"minutes", "minute", "hours", "seconds", "o'clock", "past", "degrees"});
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

bool gives_number(const Item& item) {
  return item.any_of({"that'll be", "this'll be", "it'll be", "that will be", "this will be",
                      "it will be", "that'd be", "that would be", "that's", "that is", "this is",
                      "call it", "call that", "call this"}) ||
         item.is("it's");
}

bool bag_follows(const Draft& draft, At i) {
  const At bag = behind_link(draft, i);
  return std::any_of(draft.labels.begin(), draft.labels.end(), [&](const LabelSaid& label) {
    return label.of == Of::bag && (label.first == bag || (bag > i && label.first == bag - 1));
  });
}

bool is_known(const Draft& draft, const std::string& digits) {
  return draft.context.samples.contains(digits);
}

bool comes_next(const Draft& draft, const std::string& digits) {
  constexpr int few = 3;
  return digits.size() >= 2 && in_series(digits, draft.context.last_sample) &&
         digits != draft.context.last_sample && !is_known(draft, digits) &&
         std::abs(std::atoi(digits.c_str()) - std::atoi(draft.context.last_sample.c_str())) <= few;
}

void add(Draft& draft, Of of, At first, const Label& label, At number, bool reference, bool bare) {
  const bool series = of == Of::sample && in_series(label.digits, draft.context.last_sample) &&
                      (label.digits.size() >= 3 || opens_with_next(draft, number, label));
  draft.labels.push_back(
      {of, label.digits, first, label.last, number, reference, bare, false, series});
  draft.use(number, label.last);
}

std::string completed(const Draft& draft, const std::string& digits) {
  const std::string& last = draft.context.last_sample;
  if (last.size() < 3 || digits.size() >= last.size() || is_known(draft, digits)) return digits;
  const std::string full = last.substr(0, last.size() - digits.size()) + digits;
  return is_known(draft, full) ? full : digits;
}

}  // namespace labels

void find_labels(Draft& draft) {
  labels::hear_digits(draft);
  labels::find_named(draft);
  labels::find_lettered(draft);
  labels::find_bags(draft);
  labels::deny_choices(draft);
  labels::find_bare(draft);
  labels::drop_others(draft);
  for (LabelSaid& label : draft.labels)
    if (label.of == LabelSaid::Of::sample) label.digits = labels::completed(draft, label.digits);
}

}  // namespace stonecall::reading
