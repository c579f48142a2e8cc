#include "console/debrief/sections/share_chart.hpp"

#include <algorithm>

namespace stonecall::debrief::sections {

void fit_names(charts::IntervalRows& plate) {
  constexpr double glyph = 21, air = 14;
  double widest = 0;
  for (const auto& row : plate.rows)
    widest = std::max(widest, charts::estimated_width(row.name, charts::TextSize::text,
                                                      charts::TextWeight::medium));
  plate.name_gutter = std::min(glyph + widest + air, plate.width / 2);
}

}  // namespace stonecall::debrief::sections
