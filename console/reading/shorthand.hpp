#pragma once

#include <string_view>

namespace stonecall::reading {

/// A word of the reader's own that scribes write short: "smpl" is "sample", "abt" "about". Empty:
/// none that is listed. Common practice of field notes, no source.
std::string_view written_in_full(std::string_view word);

/// A code for a kind: "sst" is "sandstone". Empty: none that is listed. After the codes that core
/// logs use, from memory; a plan's own words go first.
std::string_view rock_of_code(std::string_view code);

/// Whether `word` is `full` with vowels left out ("chlk", "ironstne"), or only its consonants, not
/// all of them, the first and the last included ("qtzt" for "quartzite"), or at least three fifths
/// of its letters and its end ("qtzite"). Lower case; a beginning ("congl") is no matter of this.
bool abbreviates(std::string_view word, std::string_view full);

}  // namespace stonecall::reading
