#pragma once

#include <optional>
#include <vector>

#include "console/desk/command.hpp"

/// Proposals of a note become facts, or not, by a person's word.
namespace stonecall::desk {

/// Proposals of a note that nobody has accepted, edited or declined.
std::vector<const Proposal*> undecided(const View& view, const picture::HeardLine& line);

/// Asks for the readings that decide a proposal, one for each of its facts: one act.
void decide(const protocol::Uuid& note, const Proposal& proposal, protocol::Outcome outcome,
            Commands& out, std::optional<bool> by_itself = {});

/// Is a reading part of what is known: accepted or edited, and not taken back?
bool counts(const picture::ReadingMade& made);

}  // namespace stonecall::desk
