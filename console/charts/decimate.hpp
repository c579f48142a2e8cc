#pragma once

#include <vector>

#include "console/charts/chart.hpp"

namespace stonecall::charts {

/// A polyline with, in each column one pixel wide, at most its first, lowest, highest and last
/// point: drawn, it covers the same pixels. Points must be in order of x; a polyline that turns
/// back is returned as it is, as is one with no more points than twice its columns. Points that are
/// not finite are left out.
std::vector<Point> decimated(const std::vector<Point>& points);

}  // namespace stonecall::charts
