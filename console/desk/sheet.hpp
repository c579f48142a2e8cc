#pragma once

#include <string_view>

#include "console/desk/canvas.hpp"

/// Sheets lie over the other regions while they have the keyboard.
namespace stonecall::desk {

/// Lays the sheet over what is there; returns the area inside its margin. `wide` and `high`: design
/// pixels wanted, less where the window is smaller.
Rect lay_sheet(Canvas& canvas, float wide, float high);

/// Its title with soft text at the right end, within `inner`; returns the y below.
float sheet_title(Canvas& canvas, const Rect& inner, std::string_view name, std::string_view aside);

/// The first row of those shown, so that `row` is among them.
std::size_t first_shown(std::size_t first, std::size_t row, std::size_t rows, std::size_t fit);

}  // namespace stonecall::desk
