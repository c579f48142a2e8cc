#pragma once

#include <string>
#include <string_view>

#include "console/desk/canvas.hpp"

/// Parts of a region, each with its name below a hairline.
namespace stonecall::desk {

// Heights in design pixels.
inline constexpr float section_head = 32;   ///< the name, above its content
inline constexpr float brief_section = 24;  ///< the name with its content in one line

/// A section's name, with a line of soft text at its right end; returns the y below.
float draw_section(Canvas& canvas, float top, std::string_view name, std::string_view aside,
                   Ink ink = Ink::ink);

/// A section in one line: its name, and as much of the words as has room; `in_full` on the tip.
void draw_brief_section(Canvas& canvas, float top, std::string_view name, Ink ink,
                        const std::string& words, const std::string& in_full);
/// The room that its words have, screen pixels.
float brief_section_room(const Canvas& canvas, std::string_view name);

}  // namespace stonecall::desk
