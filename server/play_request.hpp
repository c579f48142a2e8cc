#pragma once

#include <string_view>

#include <tl/expected.hpp>

#include "server/player.hpp"
#include "server/problem.hpp"

namespace stonecall::server {

/// Reads what is asked of a log that is played: {"paused": true}, {"speed": 4}, {"to": "1:30"}, or
/// some of these together.
tl::expected<PlayChange, Problem> read_play_change(std::string_view body);

/// The same members, and how far it is: `elapsed`, `end`, `played` of `events`; of an unseen log
/// only what is past.
protocol::Json to_json(const PlayState& state);

}  // namespace stonecall::server
