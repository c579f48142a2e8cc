#pragma once

namespace stonecall::charts {

/// A figure is never bare.
struct Interval {
  double mean = 0, low = 0, high = 0;
  bool operator==(const Interval&) const = default;
};

}  // namespace stonecall::charts
