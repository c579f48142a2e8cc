#include "console/reading/near_words.hpp"

#include <algorithm>
#include <cstddef>

#include "console/reading/spelling.hpp"

namespace stonecall::reading {
namespace {

constexpr std::size_t shortest = 4;
constexpr std::size_t longest = 20;
constexpr int slip_cost = 10;   ///< more than any rank
constexpr int short_cost = 12;  ///< of a word of four letters: so many are near one another

std::uint64_t hash_without(std::string_view word, std::size_t left_out) {
  std::uint64_t hash = 0xcbf29ce484222325;  // FNV-1a
  for (std::size_t i = 0; i < word.size(); ++i)
    if (i != left_out) hash = (hash ^ static_cast<unsigned char>(word[i])) * 0x100000001b3;
  return hash;
}

bool believable(std::string_view typed, std::string_view word, Slip slip) {
  if (slip == Slip::none) return false;
  if (word.size() == shortest) return slip == Slip::swapped;
  constexpr std::size_t long_word = 6;
  return typed.front() == word.front() || slip == Slip::swapped || word.size() >= long_word;
}

}  // namespace

void NearWords::add(std::string_view word, int rank) {
  const bool letters = std::ranges::all_of(word, [](char c) { return c >= 'a' && c <= 'z'; });
  if (!letters || word.size() < shortest || word.size() > longest) return;
  if (const Found same = nearest(word); same.word == word) return;
  const auto number = static_cast<std::uint32_t>(words_.size());
  words_.push_back({std::string(word), word.size() == shortest ? short_cost : rank});
  for (std::size_t left_out = 0; left_out <= word.size(); ++left_out)
    index_.emplace(hash_without(word, left_out), number);
}

NearWords::Found NearWords::nearest(std::string_view typed) const {
  Found best;
  if (typed.size() + 1 < shortest || typed.size() > longest + 1) return best;
  for (std::size_t left_out = 0; left_out <= typed.size(); ++left_out) {
    const auto [first, beyond] = index_.equal_range(hash_without(typed, left_out));
    for (auto entry = first; entry != beyond; ++entry) {
      const auto& [word, rank] = words_[entry->second];
      if (word == typed) return {word, 0};
      const Slip slip = slip_between(typed, word);
      if (!believable(typed, word, slip)) continue;
      const int cost = 1 + static_cast<int>(slip) * slip_cost + rank;
      if (best.word.empty() || cost < best.cost || (cost == best.cost && word < best.word))
        best = {word, cost};
    }
  }
  return best;
}

}  // namespace stonecall::reading
