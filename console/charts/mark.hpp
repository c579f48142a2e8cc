#pragma once

#include <vector>

#include "console/charts/chart.hpp"

namespace stonecall::charts {

/// Shape and colour repeat together only after 72 series.
MarkShape series_shape(std::size_t series);

/// The closed outline of a mark around (0, 0), `size` wide. Shapes are sized for like area, not
/// width, so that none shouts. A circle and a half disc are given as polygons of 24 and 17 corners.
std::vector<Point> mark_outline(MarkShape shape, double size);

}  // namespace stonecall::charts
