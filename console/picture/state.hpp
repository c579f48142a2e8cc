#pragma once

#include <cstdint>

#include "console/picture/picture.hpp"
#include "console/picture/shared_list.hpp"

namespace stonecall::picture {

/// What grows event by event, with what is needed to go on; copied to make a checkpoint.
struct State : Told {
  EventPtr plan_event;  ///< that gave the plan
  /// Of each sample hashes of its number and bag: a sample nobody spoke of yet is looked for among
  /// all, and there may be thousands.
  struct Labels {
    std::uint32_t number = 0, bag = 0;
  };
  SharedList<Labels> labels;
  /// Stations left before the party was heard of at any. They set out from the base, and which that
  /// is a plan may say that comes later.
  struct Left {
    std::string station;
    Uuid event{};
  };
  std::vector<Left> left_at_first;
  std::vector<std::string> mentioned;  ///< rocks, in order of first mention
  std::optional<std::size_t> last_sample;
};

/// Field numbers and bags as they are compared: "014" and "14" are one number; anything that is not
/// all digits stays as it is.
std::string plain_number(const std::string& text);

/// How an event came to what it says.
struct Past {
  EventPtr first;  ///< as it came, where it was amended since; else null
  bool retracted = false;
};

/// Adds one event (in order of time) to what was heard, and what it gives as the plan. The reading
/// of a note that is there becomes part of its line.
void hear(State& state, const EventPtr& event, const Origin& origin, const Past& past);

/// Applies one event (in order of time) to the state. Of a reading its fact counts, with the origin
/// of its note.
void apply(State& state, const protocol::Event& event, const Origin& origin);

/// What can only be said when all events are in: kinds in order, flags over the whole.
Picture finished(const State& state);

}  // namespace stonecall::picture
