#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <utility>
#include <vector>

#include "console/reading/lexicon.hpp"
#include "console/reading/near_words.hpp"
#include "console/reading/vocabulary.hpp"
#include "console/reading/words.hpp"

namespace stonecall::reading {

/// A kind of rock that the matcher knows.
struct KnownRock {
  std::string name;
  bool planned = true;
};

/// What a phrase stands for.
struct Meaning {
  enum class Kind {
    sense,      ///< one of the reader's own phrases
    rock,       ///< a name of a rock
    rock_head,  ///< the last word of one kind's spoken names only ("nodule"); counts unless it is a
                ///< household word
    rock_modifier,  ///< tells one kind from others of the same last word ("bubbly"); counts where
                    ///< the noun is left out
    station,
    station_part,  ///< one word of a station's names; counts beside a verb of moving
  };
  Kind kind = Kind::sense;
  Sense sense = Sense::none;
  double low = 0;
  double high = 0;
  std::size_t index = 0;  ///< of the rock or station
};

/// Longest match of phrases over tokens, tolerant of plurals and small misspellings.
class Matcher {
 public:
  explicit Matcher(const Vocabulary& vocabulary);

  struct Match {
    const Meaning* meaning = nullptr;
    std::size_t tokens = 0;  ///< how many it covers; 0: none
  };
  Match longest(std::span<const Token> tokens, std::size_t at) const;

  /// Puts small misspellings of known words right, in place. Words that are ordinary English stay.
  /// At most 64 unknown words of a note are tried, so that any text takes linear time.
  void mend_spelling(std::vector<Token>& tokens) const;

  const std::vector<KnownRock>& rocks() const { return rocks_; }
  const std::vector<std::string>& stations() const { return stations_; }
  /// The kind that an everyday word may stand for where only a kind can stand: "nice" for gneiss.
  /// Null: none that the plan lists.
  const Meaning* everyday_word(std::string_view word) const;
  /// Kinds whose name ends in the same word as that of `rock` and whose modifiers tell them apart.
  bool same_head(std::size_t rock, std::size_t other) const {
    return heads_[rock] == heads_[other];
  }

 private:
  using WordId = std::uint32_t;
  WordId intern(std::string_view word);
  std::optional<WordId> known(std::string_view word) const;
  void add(std::string_view phrase, const Meaning& meaning, bool replace);
  void add_phrases();
  void add_rocks(const Vocabulary& vocabulary);
  void add_rock_names(std::size_t index, const std::vector<std::vector<std::string>>& names);
  void add_stations(const Vocabulary& vocabulary);
  void add_sound_alikes();
  void add_sounds();
  bool write_in_full(std::vector<Token>& tokens, std::size_t at) const;
  std::string put_right(const std::string& word) const;
  std::string put_right_with_apostrophe(const std::string& word) const;
  bool mend_by_sound(std::vector<Token>& tokens, std::size_t at) const;
  void step(std::span<const Token> tokens, std::size_t at, std::size_t depth, std::uint32_t node,
            Match& best) const;

  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };
  std::unordered_map<std::string, WordId, Hash, std::equal_to<>> words_;
  std::unordered_map<std::uint64_t, std::uint32_t> edges_;  ///< (node, word) -> node
  std::pair<WordId, WordId> alikes_{};    ///< words that first came with what is misheard
  std::vector<std::int32_t> meaning_of_;  ///< per node; −1: none
  std::vector<Meaning> meanings_;
  std::vector<KnownRock> rocks_;
  std::vector<std::string> heads_;  ///< last word of each rock's name
  std::vector<std::string> stations_;
  std::vector<std::vector<std::string>> spelling_;  ///< words worth mending, by first letter
  NearWords names_;                                 ///< the same
  std::unordered_set<std::string, Hash, std::equal_to<>> team_words_;  ///< from the plan alone
  std::vector<std::pair<std::string_view, Meaning>> everyday_;         ///< of planned kinds only
  std::unordered_multimap<std::string, std::string> by_sound_;         ///< rock words by consonants
};

}  // namespace stonecall::reading
