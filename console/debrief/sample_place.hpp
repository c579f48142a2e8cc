#pragma once

#include <chrono>
#include <optional>

#include "console/picture/picture.hpp"

namespace stonecall::debrief {

/// Where a sample lay, WGS-84.
struct SamplePlace {
  protocol::Position position;
  bool from_tie = false;  ///< worked out from bearing and distance, else stated
};

/// Its coordinates as stated, else the end of its tie along the geodesic from the place it is tied
/// to. None: neither, or tied to a place that the plan does not know. The station is no place of a
/// sample.
std::optional<SamplePlace> place_of(const picture::Sample& sample, const picture::Picture& picture);

/// Of local time there, from UTC: the plan's, else that of the first word of the log.
std::chrono::minutes local_offset(const picture::Picture& picture);

}  // namespace stonecall::debrief
