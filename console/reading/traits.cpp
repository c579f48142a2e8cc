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

}  // namespace

void read_traits(Draft& draft) {
  for (At i = 0; i < draft.size(); ++i) {
    const Item& item = draft.at(i);
    if (item.mutes || item.used) continue;
    if (item.is(Sense::colour)) draft.propose(Described{Trait::colour, item.text}, i, i, 0.6);
    if (item.is(Sense::texture)) draft.propose(Described{Trait::texture, item.text}, i, i, 0.6);
    if (item.is(Sense::shape)) draft.propose(Described{Trait::shape, item.text}, i, i, 0.6);
    const At end = draft.sentence_end(i);
    if (item.is(Sense::because) && end > i) {
      draft.propose(Described{Trait::picked, text_of(draft, i + 1, end)}, i, end, 0.6);
    }
    if (item.is(Sense::relation) && (draft.new_sample || draft.any(0, i, [](const Item& before) { return before.is(Sense::one); }))) {
      draft.propose(Described{Trait::relation, text_of(draft, i, draft.clause_end(i))}, i, draft.clause_end(i), 0.5);
    }
  }
}

}  // namespace stonecall::reading
