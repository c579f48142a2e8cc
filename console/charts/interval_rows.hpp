#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/charts/frame.hpp"
#include "console/charts/interval.hpp"

namespace stonecall::charts {

/// Dot and interval, row by row, on one shared axis.
struct IntervalRows {
  struct Row {
    std::string name{};                   ///< drawn where there is a name gutter
    std::optional<std::size_t> series{};  ///< none: an open ring in soft ink
    std::optional<Interval> value{};
    std::optional<Interval> beside{};  ///< to compare with: thin and hollow, below the first
    std::string words{};               ///< in place of a value ("no basis"), or in the value gutter
    bool faint = false;
  };
  std::vector<Row> rows{};
  double low = 0, high = 1;  ///< of the axis
  std::vector<Tick> ticks{};
  std::string title{}, description{};

  double width = 300;
  double row_height = 30;
  double name_gutter = 0;   ///< left of the plot, for glyph and name; 0: none
  double value_gutter = 0;  ///< right of the plot, for the words; 0: none
  bool axis = true;         ///< below; false: the rows stand in a table that says it
  double side = 6;          ///< free at both ends of the plot, so that a dot at the end is whole
};

/// Height of the chart: rows plus the axis.
double height_of(const IntervalRows& rows);

/// Values outside the axis are drawn at its ends; intervals that are not finite as if there were
/// none.
Chart interval_rows(const IntervalRows& rows, const Measure& measure = estimated_width);

}  // namespace stonecall::charts
