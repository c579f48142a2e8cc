#pragma once

#include <span>
#include <string_view>

#include "console/reading/near_words.hpp"

namespace stonecall::reading {

/// The words that the reader's rules ask for, those that recognisers and thumbs get wrong most
/// before the others.
const NearWords& own_words();

/// The former of these, each of at least five letters.
std::span<const std::string_view> trade_words();

}  // namespace stonecall::reading
