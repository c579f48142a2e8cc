#include "console/charts/decimate.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stonecall::charts {

std::vector<Point> decimated(const std::vector<Point>& given) {
  std::vector<Point> points;
  points.reserve(given.size());
  std::copy_if(given.begin(), given.end(), std::back_inserter(points),
               [](Point p) { return std::isfinite(p.x) && std::isfinite(p.y); });
  if (points.size() < 5) return points;
  if (!std::is_sorted(points.begin(), points.end(), [](Point a, Point b) { return a.x < b.x; }))
    return points;
  if (static_cast<double>(points.size()) <= 2 * (points.back().x - points.front().x + 1))
    return points;

  std::vector<Point> kept;
  for (std::size_t begin = 0; begin < points.size();) {
    double column = std::floor(points[begin].x);
    std::size_t end = begin, low = begin, high = begin;
    for (; end < points.size() && std::floor(points[end].x) == column; ++end) {
      if (points[end].y < points[low].y) low = end;
      if (points[end].y > points[high].y) high = end;
    }
    std::array of_column{begin, std::min(low, high), std::max(low, high), end - 1};
    for (std::size_t i = 0; i < of_column.size(); ++i)
      if (i == 0 || of_column[i] != of_column[i - 1]) kept.push_back(points[of_column[i]]);
    begin = end;
  }
  return kept;
}

}  // namespace stonecall::charts
