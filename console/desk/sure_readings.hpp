#pragma once

#include "console/desk/desk.hpp"

namespace stonecall::desk {

/// Accepts the sure readings of notes that were typed here, once each note, where the setting says
/// so. Other people's notes are left to their own desks: two desks accepting the same count would
/// count it twice.
void accept_sure_readings(Desk& desk, const View& view, Commands& out);

}  // namespace stonecall::desk
