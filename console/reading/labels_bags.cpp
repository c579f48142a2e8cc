#include <algorithm>

#include "console/reading/labels.hpp"

namespace stonecall::reading::labels {
namespace {

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

/// "Sample four, granite, bagged as eighty two": what has its number already is given a bag's.
void bagged_as(Draft& draft, At bagged) {
  if (!draft.at(bagged).is("bagged") ||
      !(draft.at(bagged + 1).is("as") || draft.at(bagged + 1).comma()))
    return;
  const Label label = read_label(draft, bagged + 2);
  const bool numbered = std::ranges::any_of(draft.labels, [&](const LabelSaid& said) {
    return said.of == Of::sample && said.last < bagged && !said.denied;
  });
  if (label.digits.size() >= 2 && numbered && !draft.has_label(Of::bag) &&
      draft.at(label.last + 1).mark())
    add(draft, Of::bag, bagged, label, bagged + 2, false);
}

}  // namespace

void find_bags(Draft& draft) {
  for (At i = 1; i < draft.size(); ++i) bagged_in(draft, i);
  for (At i = 1; i < draft.size(); ++i) bagged_as(draft, i);
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
