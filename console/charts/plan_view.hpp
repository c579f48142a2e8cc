#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/charts/chart.hpp"
#include "console/charts/local_plane.hpp"
#include "console/charts/measure.hpp"

namespace stonecall::charts {

/// Which ground a plan view shows.
struct Viewport {
  GroundPoint centre;
  double metres_per_pixel = 1;
  bool operator==(const Viewport&) const = default;
};

/// Ground seen from above, north up.
struct PlanView {
  struct Place {
    enum class Kind { base, visited, ahead };
    std::string name{};
    GroundPoint at;
    Kind kind = Kind::ahead;
    bool here = false;  ///< the party is there
    bool chosen = false;
  };
  struct Way {
    enum class Kind { planned, walked, back };
    std::vector<GroundPoint> points;
    Kind kind = Kind::planned;
    std::string words{};  ///< along it
  };
  struct Find {
    std::optional<std::size_t> series{};
    std::optional<GroundPoint>
        at;  ///< none: only its place is known; drawn in a row at that place's name
    std::optional<std::size_t> place{};  ///< index into places
    bool chosen = false;
  };
  std::vector<Place> places{};
  std::vector<Way> ways{};
  std::vector<Find> finds{};
  std::optional<double>
      sun_azimuth{};  ///< degrees from north; none: below the horizon or not known
  std::string title{}, description{};
};

/// What can be picked in a drawn plan view, where.
struct PlanSpot {
  enum class Kind { place, find };
  Kind kind = Kind::place;
  std::size_t index = 0;
  Point at{};
};

struct PlanChart {
  Chart chart;
  std::vector<PlanSpot> spots{};
};

/// Shows all places, ways and finds with a margin for the names; of a single point 200 m around it.
Viewport fitted(const PlanView& view, double width, double height);

/// Names never overlap each other; one for which there is no room is left out (chosen and present
/// places are named first). Finds closer together than half a glyph are drawn once.
PlanChart plan_view(const PlanView& view, double width, double height, const Viewport& viewport,
                    const Measure& measure = estimated_width);

/// The spot nearest to `at` within `reach` pixels; a find before a place at equal distance.
std::optional<PlanSpot> spot_at(const PlanChart& plan, Point at, double reach = 10);

/// Ground under a pixel.
GroundPoint ground_at(const Viewport& viewport, double width, double height, Point pixel);

/// Scaled by `factor` (over 1: nearer), so that the ground under `pixel` stays there. Held between
/// 5 cm and 200 m a pixel.
Viewport zoomed(const Viewport& viewport, double width, double height, Point pixel, double factor);

/// A scale bar's length: 1, 2 or 5 times a power of ten metres, at most `most_pixels` wide.
double scale_bar_metres(double metres_per_pixel, double most_pixels);

/// "500 m", "2 km".
std::string metres_text(double metres);

}  // namespace stonecall::charts
