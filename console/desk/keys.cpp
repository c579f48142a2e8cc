#include "console/desk/keys.hpp"

#include <GLFW/glfw3.h>

#include "console/desk/entry.hpp"
#include "console/desk/heard.hpp"
#include "console/desk/hours.hpp"
#include "console/desk/line_sheet.hpp"
#include "console/desk/link_sheet.hpp"
#include "console/desk/plan_sheet.hpp"
#include "console/desk/region.hpp"
#include "console/desk/view.hpp"

namespace stonecall::desk {

std::string to_string(Chord chord) {
  std::string out;
  if (chord.mods & GLFW_MOD_CONTROL) out += "Ctrl+";
  if (chord.mods & GLFW_MOD_ALT) out += "Alt+";
  if (chord.mods & GLFW_MOD_SHIFT) out += "Shift+";
  struct Name {
    int key;
    const char* name;
  };
  static constexpr Name names[] = {{GLFW_KEY_SPACE, "Space"},
                                   {GLFW_KEY_ENTER, "Enter"},
                                   {GLFW_KEY_ESCAPE, "Esc"},
                                   {GLFW_KEY_TAB, "Tab"},
                                   {GLFW_KEY_BACKSPACE, "Backspace"},
                                   {GLFW_KEY_DELETE, "Delete"},
                                   {GLFW_KEY_LEFT, "←"},
                                   {GLFW_KEY_RIGHT, "→"},
                                   {GLFW_KEY_UP, "↑"},
                                   {GLFW_KEY_DOWN, "↓"},
                                   {GLFW_KEY_HOME, "Home"},
                                   {GLFW_KEY_END, "End"},
                                   {GLFW_KEY_PAGE_UP, "Page ↑"},
                                   {GLFW_KEY_PAGE_DOWN, "Page ↓"},
                                   {GLFW_KEY_EQUAL, "+"},
                                   {GLFW_KEY_KP_ADD, "Keypad +"},
                                   {GLFW_KEY_KP_SUBTRACT, "Keypad −"},
                                   {GLFW_KEY_KP_0, "Keypad 0"},
                                   {GLFW_KEY_KP_ENTER, "Keypad Enter"},
                                   {GLFW_KEY_MINUS, "−"}};
  for (auto [key, name] : names)
    if (key == chord.key) return out + name;
  if (chord.key >= GLFW_KEY_F1 && chord.key <= GLFW_KEY_F12)
    return out + "F" + std::to_string(chord.key - GLFW_KEY_F1 + 1);
  if (chord.key >= GLFW_KEY_A && chord.key <= GLFW_KEY_Z)
    return out +
           static_cast<char>(chord.key - GLFW_KEY_A + (chord.mods & ~GLFW_MOD_SHIFT ? 'A' : 'a'));
  if (chord.key > ' ' && chord.key < 127) return out + static_cast<char>(chord.key);
  return out + "?";
}

std::span<const KeyLine> desk_keys() {
  constexpr int ctrl = GLFW_MOD_CONTROL;
  static const std::vector<KeyLine> lines{
      {"desk.keys", "show or hide this sheet", {{GLFW_KEY_F1, 0}}, {}, true},
      {"desk.hours", "to Hours", {{GLFW_KEY_F2, 0}}, {}, true},
      {"desk.heard", "to Heard", {{GLFW_KEY_F3, 0}}, {}, true},
      {"desk.kinds", "to Kinds", {{GLFW_KEY_F4, 0}}, {}, true},
      {"desk.call", "to Call", {{GLFW_KEY_F5, 0}}, {}, true},
      {"desk.ground", "to Ground", {{GLFW_KEY_F6, 0}}, {}, true},
      {"desk.entry", "to the entry line", {{GLFW_KEY_F7, 0}}, {}, true},
      {"desk.note", "type a note", {{GLFW_KEY_SLASH, 0}}, {}, false},
      {"desk.next", "to the next region", {{GLFW_KEY_TAB, 0}}, {}, true},
      {"desk.previous", "to the region before", {{GLFW_KEY_TAB, GLFW_MOD_SHIFT}}, {}, true},
      {"desk.search", "search what was said", {{GLFW_KEY_F, ctrl}}, {}, true},
      {"desk.larger",
       "larger type",
       {{GLFW_KEY_EQUAL, ctrl}, {GLFW_KEY_KP_ADD, ctrl}, {GLFW_KEY_EQUAL, ctrl | GLFW_MOD_SHIFT}},
       {},
       true},
      {"desk.smaller",
       "smaller type",
       {{GLFW_KEY_MINUS, ctrl}, {GLFW_KEY_KP_SUBTRACT, ctrl}},
       {},
       true},
      {"desk.scale", "type at 100 %", {{GLFW_KEY_0, ctrl}, {GLFW_KEY_KP_0, ctrl}}, {}, true},
      {"desk.theme", "next theme", {{GLFW_KEY_F8, 0}}, {}, true},
      {"desk.time", "elapsed, local or UTC", {{GLFW_KEY_F9, 0}}, {}, true},
      {"desk.accept_sure",
       "sure readings of what is typed here count by themselves: on, off",
       {{GLFW_KEY_F10, 0}},
       {},
       true},
      {"desk.plan", "the plan as a table, to be changed", {{GLFW_KEY_F11, 0}}, {}, true},
      {"desk.link", "link, senders and what wants a look", {{GLFW_KEY_F12, 0}}, {}, true},
      {"desk.end",
       "as known at the end beside as known then: on, off",
       {{GLFW_KEY_E, ctrl}},
       {},
       true,
       [](const View& v) { return v.mode == Mode::replay && v.playback; }},
      {"desk.undo", "take back the last act", {{GLFW_KEY_Z, ctrl}}, {}, false},
      {"desk.clear", "this sheet away; nothing chosen", {{GLFW_KEY_ESCAPE, 0}}, {}, false},
      {"desk.quit", "leave", {{GLFW_KEY_Q, ctrl}}, {}, true},
  };
  return lines;
}

std::span<const KeyLine> keys_of(RegionId region) {
  switch (region) {
    case RegionId::hours:
      return hours_keys();
    case RegionId::heard:
      return heard_keys();
    case RegionId::kinds:
      return kinds_keys();
    case RegionId::call:
      return call_keys();
    case RegionId::ground:
      return ground_keys();
    case RegionId::entry:
      return entry_keys();
    case RegionId::plan:
      return plan_keys();
    case RegionId::line:
      return line_keys();
    case RegionId::link:
      return link_keys();
  }
  return {};
}

std::string_view name_of(RegionId region) {
  switch (region) {
    case RegionId::hours:
      return "Hours";
    case RegionId::heard:
      return "Heard";
    case RegionId::kinds:
      return "Kinds";
    case RegionId::call:
      return "Call";
    case RegionId::ground:
      return "Ground";
    case RegionId::entry:
      return "Entry line";
    case RegionId::plan:
      return "Plan";
    case RegionId::line:
      return "Line";
    case RegionId::link:
      return "Link";
  }
  return {};
}

const KeyLine* line_for(Chord chord, RegionId focus, bool typing, const View& view) {
  auto among = [&](std::span<const KeyLine> lines) -> const KeyLine* {
    for (const KeyLine& line : lines) {
      if (typing && !line.while_typing) continue;
      if (line.available && !line.available(view)) continue;
      for (Chord each : line.chords)
        if (each == chord) return &line;
    }
    return nullptr;
  };
  if (const KeyLine* line = among(keys_of(focus))) return line;
  return among(desk_keys());
}

}  // namespace stonecall::desk
