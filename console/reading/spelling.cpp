#include "console/reading/spelling.hpp"

#include <algorithm>
#include <array>
#include <cstddef>

namespace stonecall::reading {

bool near(std::string_view a, std::string_view b, int limit) {
  constexpr std::size_t longest = 24;
  if (a.size() > longest || b.size() > longest) return false;
  const int difference = static_cast<int>(a.size()) - static_cast<int>(b.size());
  if (difference > limit || -difference > limit) return false;

  if (limit == 1) {
    // One edit: what is left between the common beginning and the common end.
    while (!a.empty() && !b.empty() && a.front() == b.front()) {
      a.remove_prefix(1);
      b.remove_prefix(1);
    }
    while (!a.empty() && !b.empty() && a.back() == b.back()) {
      a.remove_suffix(1);
      b.remove_suffix(1);
    }
    const bool swapped = a.size() == 2 && b.size() == 2 && a[0] == b[1] && a[1] == b[0];
    return swapped || (a.size() <= 1 && b.size() <= 1);
  }
  std::array<std::array<int, longest + 1>, 3> rows{};
  for (std::size_t j = 0; j <= b.size(); ++j) rows[0][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    auto& row = rows[i % 3];
    const auto& above = rows[(i + 2) % 3];
    const auto& two_above = rows[(i + 1) % 3];
    row[0] = static_cast<int>(i);
    int smallest = row[0];
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int changed = above[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, changed});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], two_above[j - 2] + 1);
      smallest = std::min(smallest, row[j]);
    }
    if (smallest > limit) return false;
  }
  return rows[a.size() % 3][b.size()] <= limit;
}

Slip slip_between(std::string_view typed, std::string_view right) {
  const std::size_t shorter = std::min(typed.size(), right.size());
  std::size_t begin = 0;
  while (begin < shorter && typed[begin] == right[begin]) ++begin;
  std::size_t end = 0;
  while (end < shorter - begin && typed[typed.size() - 1 - end] == right[right.size() - 1 - end])
    ++end;
  const std::string_view said = typed.substr(begin, typed.size() - begin - end);
  const std::string_view wanted = right.substr(begin, right.size() - begin - end);
  // The beginning is taken as far as it goes, so a doubled letter shows at its second place.
  const auto doubles = [&](char c) { return begin > 0 && typed[begin - 1] == c; };
  if (said.size() == 2 && wanted.size() == 2 && said[0] == wanted[1] && said[1] == wanted[0])
    return Slip::swapped;
  if (said.empty() && wanted.size() == 1)
    return doubles(wanted[0]) ? Slip::swapped : Slip::left_out;
  if (wanted.empty() && said.size() == 1) return doubles(said[0]) ? Slip::swapped : Slip::put_in;
  return said.size() == 1 && wanted.size() == 1 ? Slip::changed : Slip::none;
}

namespace {
bool vowel(char c) {
  return c == 'a' || c == 'e' || c == 'i' || c == 'o' || c == 'u' || c == 'y';
}
}  // namespace

std::string consonants(std::string_view letters) {
  std::string sounds;
  const auto at = [&](std::size_t i) { return i < letters.size() ? letters[i] : '\0'; };
  const auto soft = [&](std::size_t i) { return at(i) == 'e' || at(i) == 'i' || at(i) == 'y'; };
  bool after_vowel = false;
  const auto say = [&](char sound) {
    if (after_vowel || sounds.empty() || sounds.back() != sound) sounds += sound;
    after_vowel = false;
  };
  for (std::size_t i = 0; i < letters.size(); ++i) {
    const char c = letters[i];
    const char next = at(i + 1);
    if (vowel(c)) {
      if (i == 0) say('*');
      after_vowel = true;
      continue;
    }
    switch (c) {
      case 'p':
        say(next == 'h' ? 'f' : 'p');
        break;
      case 'g':
        if (next == 'h') {  // "light"
          ++i;
        } else if (!(i == 0 && next == 'n')) {  // "gneiss"
          say(soft(i + 1) ? 'j' : 'g');
        }
        break;
      case 'k':
        if (!(i == 0 && next == 'n')) say('k');
        break;
      case 'c':
        if (next == 'h' && i > 0 && letters[i - 1] == 's') {  // "schist"
          say('k');
        } else if (next == 'h') {
          say('x');
        } else {
          say(soft(i + 1) ? 's' : 'k');
        }
        break;
      case 'q':
        say('k');
        break;
      case 's':
        if (next == 'h') {
          say('x');
          ++i;
        } else {
          say('s');
        }
        break;
      case 'z':
        say('s');
        break;
      case 't':
        if (next != 'z') say('t');  // "quartz"
        break;
      case 'x':
        say('k');
        say('s');
        break;
      case 'h':
      case 'w':
        if (i == 0 && vowel(next)) say(c);
        break;
      default:
        if (c >= 'a' && c <= 'z') say(c);
    }
  }
  return sounds;
}

int vowel_groups(std::string_view letters) {
  if (letters.ends_with('e')) letters.remove_suffix(1);
  int groups = 0;
  for (std::size_t i = 0; i < letters.size(); ++i) {
    if (vowel(letters[i]) && (i == 0 || !vowel(letters[i - 1]))) ++groups;
  }
  return groups;
}

}  // namespace stonecall::reading
