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

}  // namespace stonecall::reading
