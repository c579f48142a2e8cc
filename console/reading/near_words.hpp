#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

namespace stonecall::reading {

/// Finds the word that a misspelt one was to be, among any number of words in the same time.
class NearWords {
 public:
  /// Of slips that are as likely, a lower rank (0 to 9) wins. Only words of 4 to 20 letters from a
  /// to z are taken, each once.
  void add(std::string_view word, int rank);

  struct Found {
    std::string_view word;  ///< empty: none
    int cost = 0;           ///< 0: it is the very word; else the lower the likelier
  };
  /// The likeliest word one slip away. Words of four letters are only found with two letters
  /// swapped or one doubled; the first letter may differ in words of six letters or more. Whether
  /// `typed` is another word of the language is not asked: see `look_alikes`.
  Found nearest(std::string_view typed) const;

 private:
  struct Entry {
    std::string word;
    int rank = 0;
  };
  std::vector<Entry> words_;
  /// Two words that are one slip apart are alike when each of them, or one, has lost a letter: so
  /// each stands here whole and with each letter left out, hashed.
  std::unordered_multimap<std::uint64_t, std::uint32_t> index_;
};

}  // namespace stonecall::reading
