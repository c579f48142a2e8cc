#pragma once

#include <cstddef>

#include "console/desk/canvas.hpp"

/// What stands behind the advised call: the curve that was weighed or, unfolded in its place, the
/// reasons in words.
namespace stonecall::desk {

// Heights of the curve in design pixels.
inline constexpr float least_curve = 104;    ///< it can still be made out
inline constexpr float curve_to_read = 150;  ///< below this other things make room for it
inline constexpr float curve_at_ease = 190;
inline constexpr float below_curve = 8;

/// The curve, where the advice has one and `room` (screen pixels from `top` on) is enough; returns
/// the height it takes.
float draw_curve(const View& view, Canvas& canvas, float top, float room);

/// The reasons that have room, from `first` on, and how many there are besides; keys go on through
/// them. `with_card`: that on the card and how sure come first. Returns the height they take.
float draw_reasons(const advise::Advice& advice, bool with_card, std::size_t& first, Canvas& canvas,
                   float top, float room);

}  // namespace stonecall::desk
