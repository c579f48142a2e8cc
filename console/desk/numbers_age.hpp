#pragma once

#include <chrono>
#include <string>

#include "console/desk/clock_text.hpp"
#include "console/desk/view.hpp"

/// The numbers are worked out beside the window and may be of an earlier moment than the picture.
namespace stonecall::desk {

/// Between events only the clocks move, and those run on by themselves; the rest is worked out anew
/// this often.
inline constexpr std::chrono::seconds numbers_hold_for{10};

/// True where the numbers are not those of what is shown: other events went into them, or they were
/// due to be worked out anew and have not come. Such numbers are never shown as current and never
/// sent.
bool outdated(const View& view);

/// "as of 1:11:50, 2 newer events not in it yet"; empty where the numbers are current or there are
/// none.
std::string outdated_words(const View& view, const ClockText& clock);

}  // namespace stonecall::desk
