#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "console/reading/words.hpp"

namespace stonecall::reading {

/// Puts apostrophes back that recognisers leave out, in place: "whats", "dont", "were off", "id
/// say". A token that became part of the word before is left empty.
void restore_apostrophes(std::vector<Token>& tokens);

/// Puts words in place of others that sound alike, where only they can stand: "forty too", "too
/// thirds", "know granite here", "hear we are". `names_rock`: whether a kind stands from a token
/// on.
void restore_homophones(std::vector<Token>& tokens,
                        const std::function<bool(std::size_t)>& names_rock);

}  // namespace stonecall::reading
