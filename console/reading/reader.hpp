#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "console/reading/fact.hpp"
#include "console/reading/vocabulary.hpp"

namespace stonecall::reading {

/// What is known when a note is spoken. Empty text: not known.
struct Context {
  std::string station;
  std::string last_sample;  ///< field number
  std::string last_bag;
  std::vector<std::string> samples;     ///< field numbers of samples that were already taken
  std::vector<std::string> party = {};  ///< names of those in the field, in lower case
  std::string speaker = {};             ///< who speaks, in lower case
  bool unnumbered = false;              ///< a rock was picked up last and not numbered yet
  double share_left = 0;  ///< percent that the shares of the last note leave; 0: all, or none said
};

/// The context after the facts of a note were accepted as they stand.
void follow(Context& context, const std::vector<Proposal>& proposals);

/// Reads field speech. Building one prepares the vocabulary; reading is const and may run on
/// several threads.
class Reader {
 public:
  /// With no rocks in the vocabulary the built-in kinds stand alone; else kinds that the plan does
  /// not list are still read, marked as not planned.
  explicit Reader(const Vocabulary& vocabulary);
  ~Reader();
  Reader(Reader&&) noexcept;
  Reader& operator=(Reader&&) noexcept;

  /// Facts that the note states, in order of its words. Any bytes are taken; what is not UTF-8
  /// separates words. Time is linear in the length of the text. A note of the back room itself
  /// states nothing: do not read it.
  std::vector<Proposal> read(std::string_view text, const Context& context) const;

 private:
  struct Prepared;
  std::unique_ptr<const Prepared> prepared_;
};

}  // namespace stonecall::reading
