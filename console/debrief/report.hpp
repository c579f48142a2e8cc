#pragma once

#include <string>

#include "console/debrief/look_back.hpp"

namespace stonecall::debrief {

/// The debrief as one HTML page that needs nothing besides itself: charts are inline SVG, type is
/// Inter where the reader has it. Made to be read on a screen and printed on A4 or Letter. The same
/// debrief gives the same bytes. All text from the log is escaped.
std::string report(const Debrief& debrief);

}  // namespace stonecall::debrief
