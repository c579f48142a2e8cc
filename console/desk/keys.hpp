#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "console/desk/command.hpp"

/// One table of what the keyboard can do: it drives the keys, the key sheet and the tests.
namespace stonecall::desk {

struct View;

/// A key with what is held down with it.
struct Chord {
  int key = 0;   ///< GLFW key code (GLFW_KEY_…); a letter is matched by what the user's layout
                 ///< writes on the key
  int mods = 0;  ///< GLFW_MOD_CONTROL, _ALT, _SHIFT
  bool operator==(const Chord&) const = default;
};

std::string to_string(Chord chord);  ///< "Ctrl+Up", "Space"

/// One line of the table. A region finds out by `Canvas::asked(id)` that it was pressed.
struct KeyLine {
  std::string_view id;                       ///< "hours.play"
  std::string_view words;                    ///< "play or pause"
  std::vector<Chord> chords;                 ///< any of them
  std::optional<RegionId> region;            ///< none: whichever region has the focus
  bool while_typing = false;                 ///< also when a text field has the keyboard
  bool (*available)(const View&) = nullptr;  ///< null: always
};

/// Key lines of the whole desk: focus, theme, scale, time, help, quit.
std::span<const KeyLine> desk_keys();
/// Key lines of one region, in the order of the key sheet.
std::span<const KeyLine> keys_of(RegionId region);

std::string_view name_of(RegionId region);  ///< "Heard"

/// What a chord asks for, where `focus` has the keyboard: the region's own lines first, then the
/// desk's. Null where nothing answers, where it is not available now, or where typing has the key.
const KeyLine* line_for(Chord chord, RegionId focus, bool typing, const View& view);

}  // namespace stonecall::desk
