#pragma once

#include <cstdint>
#include <optional>

#include "protocol/event.hpp"
#include "protocol/json_text.hpp"

namespace stonecall::protocol {

/// An event, or what is wrong with it.
struct EventRead {
  Result<Event> event;
  std::optional<Uuid> id;            ///< of one that is wrong, where that much could be read
  std::optional<std::uint64_t> seq;  ///< as well
};

/// Reads one of the events within a text; faults as of parse_event, but for the text's own.
EventRead read_event(Value value);

}  // namespace stonecall::protocol
