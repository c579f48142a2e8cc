#pragma once

#include "console/reading/draft.hpp"

/// Words by which a party says that it comes to a place or goes from it.
namespace stonecall::reading {

/// How a place stands to what is said before it: "up to the weir", "under the weir", "off the
/// weir".
enum class Way { none, toward, located, from };

/// The way a word or phrase points, by its last word: "down by" is as "by".
Way way_of(const Item& item);

/// A verb of motion: whether what it tells of is over ("walked") or goes on ("walking").
enum class Motion { none, going, over };

Motion motion_of(const Item& item);

/// Says where along the way or which of us, and changes nothing: "up", "just", "all three".
bool is_particle(const Item& item);

/// The party itself, as it speaks of itself: "we've", "both", "team".
bool is_party(const Item& item);

}  // namespace stonecall::reading
