#include "console/desk/deciding.hpp"

#include <algorithm>

namespace stonecall::desk {

std::vector<const Proposal*> undecided(const View& view, const picture::HeardLine& line) {
  std::vector<const Proposal*> out;
  if (!view.proposals || line.retracted) return out;
  const auto* found = view.proposals->find(line.event->id);
  if (!found) return out;
  for (const Proposal& proposal : *found) {
    const auto decides = [&](const picture::ReadingMade& made) {
      if (made.retracted) return false;
      if (made.reading.fact == proposal.fact) return true;
      // Whoever read these words has read all of them.
      return made.reading.words && made.reading.words->begin < proposal.words.end &&
             proposal.words.begin < made.reading.words->end;
    };
    if (std::ranges::none_of(line.readings, decides)) out.push_back(&proposal);
  }
  return out;
}

void decide(const protocol::Uuid& note, const Proposal& proposal, protocol::Outcome outcome,
            Commands& out, std::optional<bool> by_itself) {
  const auto post = [&](const protocol::Fact& fact) {
    out.push_back(
        ask::Post{protocol::Reading{note, outcome, fact, proposal.words, by_itself}, std::nullopt});
  };
  post(proposal.fact);
  for (const protocol::Fact& each : proposal.also) post(each);
  if (const auto* amend = std::get_if<protocol::Amend>(&proposal.fact))
    for (const protocol::Uuid& target : proposal.also_amends)
      post(protocol::Amend{target, amend->changes, amend->why});
}

bool counts(const picture::ReadingMade& made) {
  return !made.retracted && made.reading.outcome != protocol::Outcome::declined;
}

}  // namespace stonecall::desk
