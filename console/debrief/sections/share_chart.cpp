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

Markup share_axis() {
  return element("span", {{"class", "axis"}},
                 element("span", "0") + element("span", "50") + element("span", "100 %"));
}

Markup share_in_row(charts::IntervalRows::Row row, const Pen& pen) {
  charts::IntervalRows plate;
  plate.ticks = {{0, ""}, {0.5, ""}, {1, ""}};
  plate.width = 190;  // of .axis in the style sheet
  plate.row_height = 18;
  plate.axis = false;
  row.words.clear();
  plate.rows.push_back(std::move(row));
  return pen.drawing(charts::interval_rows(plate));
}

}  // namespace stonecall::debrief::sections
