#pragma once

#include "console/picture/picture.hpp"

namespace stonecall::picture {

/// The part of a picture that grows event by event; copied to make a checkpoint.
struct State {
  std::optional<protocol::Plan> plan;
  std::vector<Visit> visits;
  std::vector<Sample> samples;
  std::vector<Look> looks;
  std::vector<SpokenShare> shares;
  std::vector<Sighting> sightings;
  std::vector<CallMade> calls;
  std::vector<QuestionAsked> questions;
  std::vector<Remarked> remarks;
  std::vector<Flag> flags;
  std::vector<std::string> mentioned;  ///< rocks, in order of first mention
  std::optional<std::size_t> last_sample;
  std::size_t not_understood = 0;
};

/// Applies one event (in order of time) to the state. Of a reading its fact counts, with the origin
/// of its note.
void apply(State& state, const protocol::Event& event, const Origin& origin);

/// What can only be said when all events are in: kinds in order, flags over the whole.
Picture finished(const State& state);

}  // namespace stonecall::picture
