#include "console/reading/recognisers.hpp"

namespace stonecall::reading {
namespace {

using At = Draft::At;

std::string text_of(const Draft& draft, At first, At last) {
  std::string text;
  for (At i = first; i <= last; ++i) {
    const Item& item = draft.at(i);
    if (item.mark()) continue;
    text += (text.empty() ? "" : " ") + item.text;
  }
  return text;
}

/// Whether a describing word near item i is said of a rock that is picked, named or pointed at.
bool of_a_rock(const Draft& draft, At i) {
  if (draft.new_sample || draft.has_label(LabelSaid::Of::sample)) return true;
  return draft.any(draft.clause_begin(i), draft.clause_end(i),
                   [](const Item& item) { return item.stated_rock() || item.is(Sense::one); });
}

bool gives_reason(const Draft& draft, At i) {
  const Item& item = draft.at(i);
  if (item.text.find(' ') != std::string::npos) return true;  // "picked it because"
  return draft.any(draft.sentence_begin(i), i, [](const Item& before) {
    return before.is(Sense::pick) || before.any_of({"picked", "chose", "took", "taking"});
  });
}

}  // namespace

void read_traits(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.mutes || item.used) continue;
    const bool rock =
        (item.is(Sense::colour) || item.is(Sense::texture) || item.is(Sense::shape)) &&
        of_a_rock(draft, i);
    if (rock && item.is(Sense::colour))
      draft.propose(Described{Trait::colour, item.text}, i, i, 0.6);
    if (rock && item.is(Sense::texture) && !item.weak)
      draft.propose(Described{Trait::texture, item.text}, i, i, 0.6);
    if (rock && item.is(Sense::shape)) draft.propose(Described{Trait::shape, item.text}, i, i, 0.6);
    const At end = draft.sentence_end(i);
    if (item.is(Sense::because) && end > i && gives_reason(draft, i)) {
      draft.propose(Described{Trait::picked, text_of(draft, i + 1, end)}, i, end, 0.6);
    }
    const bool of_this_one =
        draft.new_sample || draft.has_label(LabelSaid::Of::bag) ||
        draft.any(0, i, [](const Item& before) { return before.is(Sense::one); });
    if (item.is(Sense::relation) && of_this_one) {
      draft.propose(Described{Trait::relation, text_of(draft, i, draft.clause_end(i))}, i,
                    draft.clause_end(i), 0.5);
    }
  }
}

}  // namespace stonecall::reading
