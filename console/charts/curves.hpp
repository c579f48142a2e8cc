#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/charts/frame.hpp"
#include "console/charts/interval.hpp"

namespace stonecall::charts {

/// One point of a curve with its interval.
struct CurvePoint {
  double x = 0, y = 0, low = 0, high = 0;
  bool operator==(const CurvePoint&) const = default;
};

/// A falling curve with its band against another, and where they cross. x in minutes.
struct Crossing {
  std::vector<CurvePoint> curve{};  ///< in order of x
  std::vector<Point> other{};       ///< x, value; in order of x
  std::string curve_name{}, other_name{};
  std::string axis_name{};  ///< what y is, above the plot
  std::optional<double> now{};
  std::optional<double> mark{};    ///< where the decision lies, on the curve
  std::optional<Interval> span{};  ///< of the decision, as a bar on the axis (only low, high used)
  std::string title{}, description{};
  double width = 480, height = 150;
  std::vector<Tick> x_ticks{};  ///< instead of our own
};
Chart crossing(const Crossing& spec, const Measure& measure = estimated_width);

/// A growing count: found so far, and what is expected beyond.
struct Growth {
  std::vector<CurvePoint> points{};  ///< in order of x
  double now = 0;                    ///< solid up to here, dashed beyond
  std::string now_words{};           ///< beside the dot
  std::string x_name{}, y_name{};
  std::string title{}, description{};
  double width = 480, height = 150;
};
Chart growth(const Growth& spec, const Measure& measure = estimated_width);

}  // namespace stonecall::charts
