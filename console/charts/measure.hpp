#pragma once

#include <functional>
#include <string_view>

#include "console/charts/chart.hpp"

namespace stonecall::charts {

/// Width of a line of text in design pixels. The window measures its own letters; where nobody can
/// (SVG is set by the reader's machine), `estimated_width` is near enough for placing labels.
using Measure = std::function<double(std::string_view text, TextSize size, TextWeight weight)>;

/// By classes of letters of a grotesque face; within about 12 % for running Latin text set in
/// Inter. Counts UTF-8 sequences, not bytes.
double estimated_width(std::string_view text, TextSize size, TextWeight weight);

/// The area that a label covers, ascender to descender.
Box area_of(const Label& label, const Measure& measure);

}  // namespace stonecall::charts
