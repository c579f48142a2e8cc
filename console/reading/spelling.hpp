#pragma once

#include <string>
#include <string_view>

namespace stonecall::reading {

/// Whether two words differ by at most `limit` (1 or 2) letters put in, left out, changed or
/// swapped with a neighbour (optimal string alignment distance). Words over 24 letters never do.
bool near(std::string_view a, std::string_view b, int limit);

/// How a word came to be typed for another, the likeliest first.
enum class Slip {
  swapped,   ///< two neighbours in the wrong order, or a letter once for twice or twice for once
  left_out,  ///< a letter is missing
  put_in,    ///< a letter too many
  changed,   ///< another letter in its place
  none,      ///< the words are equal, or differ by more than one slip
};
Slip slip_between(std::string_view typed, std::string_view right);

/// The consonants of a word or of words run together, as they sound in English, each once where it
/// stands double: "lherzolite" and "lure so light" both give "lrslt". A vowel counts only at the
/// beginning, as '*'. For lower-case letters; other bytes are passed over.
std::string consonants(std::string_view letters);

/// Groups of vowels in it, an "e" at the end excepted.
int vowel_groups(std::string_view letters);

}  // namespace stonecall::reading
