#pragma once

#include <optional>
#include <vector>

#include "console/desk/canvas.hpp"

/// The player of a recorded log, and the hold of an exercise in practice: their signs and keys.
namespace stonecall::desk {

bool has_player(const View& view);
bool has_landmarks(const View& view);

/// Play or pause and the speed, ending at `right`; returns the x left of them.
float draw_player(const View& view, Canvas& canvas, float right, float baseline, Commands& out);

void answer_player_keys(const View& view, const Canvas& canvas, Commands& out);

/// The nearest moment of this kind after (before) `now`; none: nothing to jump to.
std::optional<protocol::Instant> landmark_from(const std::vector<Landmark>& landmarks,
                                               Landmark::Kind kind, protocol::Instant now,
                                               bool forward);

}  // namespace stonecall::desk
