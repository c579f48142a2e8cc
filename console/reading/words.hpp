#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "console/reading/fact.hpp"

namespace stonecall::reading {

/// A word in lower case, a number in digits, or a mark that parts sentences or clauses.
struct Token {
  enum class Kind { word, digits, mark };
  Kind kind = Kind::word;
  std::string text;  ///< word: lower case, apostrophes kept, as "don't"; mark: one of . ? ! , : ; -
  Words words;
};

/// Cuts a note into tokens. Hyphens part words ("fist-sized"), "8cm" becomes two tokens, "%" the
/// word "percent", inch and foot marks after a number their words, "½" "1/2", "10:42" "1042
/// o'clock"; signs that are typed for words, "+", "=", "<", ">", "@", "->", "w/" and "°", become
/// the words, "1 ?" "1 unknown". Fillers ("um", "er") and stammered repeats ("a, a white crust")
/// leave no token.
std::vector<Token> tokenise(std::string_view text);

}  // namespace stonecall::reading
