#pragma once

#include <vector>

#include "console/reading/reader.hpp"
#include "console/reading/words.hpp"

namespace stonecall::reading {

/// Takes out what only opens or closes a turn on the loop ("Okay, base from Petra", "copy that",
/// "over") and what is put in while thinking ("you know"), so that a note begins with what it says.
/// Whom of the party it is said to stays: that tells questions apart. Never empties a note.
void drop_asides(std::vector<Token>& tokens, const Context& context);

}  // namespace stonecall::reading
