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

/// A key with what is held down with it. `key` is a GLFW key code (GLFW_KEY_…), `mods` GLFW_MOD_…
/// of Control, Alt and Shift.
struct Chord {
  int key = 0;
  int mods = 0;
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

}  // namespace stonecall::desk
