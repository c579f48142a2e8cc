#include "console/desk/input_queue.hpp"

#include <algorithm>

#include <GLFW/glfw3.h>

namespace stonecall::desk {
namespace {

bool writes_letter(const InputQueue::Key& key) {
  return key.key >= GLFW_KEY_SPACE && key.key < GLFW_KEY_ESCAPE &&
         !(key.mods & (GLFW_MOD_CONTROL | GLFW_MOD_ALT));
}

}  // namespace

Chord chord_of(const InputQueue::Key& key) {
  constexpr int told_apart = GLFW_MOD_CONTROL | GLFW_MOD_ALT | GLFW_MOD_SHIFT;
  Chord chord{key.key, key.mods & told_apart};
  if (key.key > GLFW_KEY_SPACE && key.key < GLFW_KEY_ESCAPE) {
    if (const char* name = glfwGetKeyName(key.key, key.scancode); name && name[0] && !name[1]) {
      char letter = name[0];
      if (letter >= 'a' && letter <= 'z') letter = static_cast<char>(letter - 'a' + 'A');
      chord.key = letter;
    }
  }
  return chord;
}

std::vector<const KeyLine*> InputQueue::give_frame(const Answer& answer, const Pass& pass,
                                                   bool hold_letters) {
  std::vector<const KeyLine*> pressed;
  std::vector<int> keys_seen, buttons_seen;
  bool edit_key_passed = false;
  auto seen_before = [](std::vector<int>& seen, int what) {
    if (std::find(seen.begin(), seen.end(), what) != seen.end()) return true;
    seen.push_back(what);
    return false;
  };
  while (!waiting_.empty()) {
    const Input input = waiting_.front();
    if (const Key* key = std::get_if<Key>(&input)) {
      if (seen_before(keys_seen, key->key)) break;
      const bool down = key->action != GLFW_RELEASE;
      const KeyLine* line = down ? answer(chord_of(*key)) : nullptr;
      const bool edits = key->key > GLFW_KEY_ESCAPE && key->key <= GLFW_KEY_END;
      if (hold_letters && down && !line && edits) break;
      waiting_.pop_front();
      if (down) {
        drop_letter_ = false;
        if (line) {
          pressed.push_back(line);
          drop_letter_ = writes_letter(*key);
          break;  // what comes after may depend on what this does
        }
        edit_key_passed |= key->key >= GLFW_KEY_ESCAPE && key->key < GLFW_KEY_LEFT_SHIFT;
      }
      pass(input);
    } else if (std::holds_alternative<Letter>(input)) {
      if (drop_letter_) {
        drop_letter_ = false;
        waiting_.pop_front();
        continue;
      }
      // Within a frame ImGui takes letters before keys: a letter must not overtake a Backspace.
      if (hold_letters || edit_key_passed) break;
      waiting_.pop_front();
      pass(input);
    } else if (const Button* button = std::get_if<Button>(&input)) {
      if (seen_before(buttons_seen, button->button)) break;
      waiting_.pop_front();
      pass(input);
    } else {
      waiting_.pop_front();
      pass(input);
    }
  }
  return pressed;
}

}  // namespace stonecall::desk
