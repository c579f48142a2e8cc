#pragma once

#include <string>
#include <vector>

namespace stonecall::charts {

/// Round values for an axis: multiples of 1, 2 or 5 times a power of ten, at most `most` of them,
/// none outside [low, high]. After Heckbert, "Nice numbers for graph labels", Graphics Gems (1990),
/// but keeping to the range given. Empty unless low < high, both finite, and most >= 2.
std::vector<double> nice_ticks(double low, double high, int most);

/// The smallest 1, 2 or 5 times a power of ten that is not below `value`; 1 for what is not above
/// 0.
double nice_ceiling(double value);

/// Whole minutes for a time axis: steps of 1, 2, 5, 10, 15, 30 minutes, or whole hours; at most
/// `most`, none outside [low, high].
std::vector<double> minute_ticks(double low, double high, int most);

/// "1:30" for 90 minutes; "−0:05" before the start.
std::string minute_text(double minutes);

/// As few digits as tell the value from its neighbours on an axis with this step.
std::string number_text(double value, double step);

}  // namespace stonecall::charts
