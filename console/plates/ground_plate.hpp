#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/advise/assessment.hpp"
#include "console/charts/plan_view.hpp"
#include "console/picture/picture.hpp"

namespace stonecall::plates {

struct SunNow {
  double azimuth_degrees = 0;
  double elevation_degrees = 0;
};

/// The ground of the exercise from above. What was drawn from where:
struct GroundPlate {
  charts::PlanView view;
  std::vector<std::string> stations;  ///< names, as view.places
  std::vector<std::size_t> samples;   ///< indices into Picture::samples, as view.finds
  std::size_t without_place = 0;  ///< samples at stations that the plan does not know: not drawn
  std::optional<SunNow> sun;      ///< at the base, without refraction
};

/// Empty without a plan: no place is known then. Metres on a plane at the base, equirectangular
/// (see charts/local_plane.hpp). `assessment` may be null: no way back then.
GroundPlate ground_plate(const picture::Picture& picture, const advise::Assessment* assessment,
                         picture::Instant now);

/// "1.9 km, 26 min + 20 %".
std::string way_back_text(const advise::TurnBack& turn_back);

}  // namespace stonecall::plates
