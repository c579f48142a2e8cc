#include "console/reading/draft.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <utility>

namespace stonecall::reading {

namespace {
const Item beyond{};
}

const Item& Draft::at(At i) const {
  return i < 0 || i >= size() ? beyond : items[static_cast<std::size_t>(i)];
}

Item& Draft::edit(At i) {
  assert(i >= 0 && i < size());
  return items[static_cast<std::size_t>(i)];
}

Draft::At Draft::skip(At i, std::initializer_list<Sense> senses) const {
  while (at(i).kind == Item::Kind::word &&
         std::find(senses.begin(), senses.end(), at(i).sense) != senses.end())
    ++i;
  return i;
}

Words Draft::words(At first, At last) const {
  assert(0 <= first && first <= last && last < size());
  return {at(first).words.begin, at(last).words.end};
}

void Draft::propose(Fact fact, At first, At last, double sureness) {
  for (const Proposal& earlier : proposals) {
    if (earlier.fact == fact) return;
  }
  proposals.push_back({std::move(fact), words(first, last), sureness});
}

void Draft::use(At first, At last) {
  for (At i = first; i <= last; ++i) edit(i).used = true;
}

void Draft::mute(At first, At last, Item::Mute why) {
  for (At i = std::max<At>(first, 0); i <= last && i < size(); ++i) edit(i).mutes |= why;
}

Draft::At Draft::clause_begin(At i) const {
  const int clause = at(i).clause;
  while (i > 0 && at(i - 1).clause == clause) --i;
  return i;
}

Draft::At Draft::clause_end(At i) const {
  const int clause = at(i).clause;
  while (i + 1 < size() && at(i + 1).clause == clause && at(i + 1).kind != Item::Kind::mark) ++i;
  return i;
}

Draft::At Draft::sentence_begin(At i) const {
  const int sentence = at(i).sentence;
  while (i > 0 && at(i - 1).sentence == sentence) --i;
  return i;
}

Draft::At Draft::sentence_end(At i) const {
  const int sentence = at(i).sentence;
  while (i + 1 < size() && at(i + 1).sentence == sentence && !at(i + 1).stop()) ++i;
  return i;
}

bool Draft::has_label(LabelSaid::Of of) const {
  return std::any_of(labels.begin(), labels.end(),
                     [&](const LabelSaid& label) { return label.of == of && !label.denied; });
}

}  // namespace stonecall::reading
