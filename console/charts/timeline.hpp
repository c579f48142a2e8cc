#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/charts/frame.hpp"
#include "console/charts/interval.hpp"

namespace stonecall::charts {

/// One ruler of time: stretches as planned above the line, as they were below it. Minutes.
struct Timeline {
  struct Stretch {
    std::string name{};
    double from = 0, to = 0;
  };
  struct Moment {
    double at = 0;
    std::string words{};  ///< beside it, where there is room; empty: a tick only
    bool flag = false;    ///< a filled flag, else a tick
    bool alert = false;
  };
  double from = 0, to = 150;
  std::vector<Stretch> planned{}, walked{};
  std::vector<Moment> moments{};
  std::optional<double> now{};
  std::optional<Interval> span{};  ///< a coming stretch, with the likely moment
  std::string title{}, description{};
  double width = 900;
  bool names_walked = false;  ///< for paper, where nothing can be pointed at
};

inline constexpr double timeline_height = 96;  ///< with names of what was walked 12 more
Chart timeline(const Timeline& spec, const Measure& measure = estimated_width);

}  // namespace stonecall::charts
