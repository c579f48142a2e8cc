#pragma once

#include <deque>
#include <functional>
#include <variant>
#include <vector>

#include "console/desk/keys.hpp"

struct GLFWwindow;

namespace stonecall::desk {

/// What hands did, in order, until the frames have taken it. ImGui before 1.87 only sees the state
/// of the keys at each frame: a key pressed and released between two frames would be lost, letters
/// typed after Enter would overtake it. So events wait here, and a frame is given no more than it
/// can tell apart.
class InputQueue {
 public:
  struct Key {
    int key, scancode, action, mods;
  };
  struct Letter {
    unsigned sign;
  };
  struct Button {
    int button, action, mods;
  };
  struct Wheel {
    double x, y;
  };
  using Input = std::variant<Key, Letter, Button, Wheel>;

  /// Where inputs go that are not ours: ImGui's backend.
  using Pass = std::function<void(const Input&)>;
  /// The key line that answers a chord now, or null.
  using Answer = std::function<const KeyLine*(Chord)>;

  void add(Input input) { waiting_.push_back(input); }
  bool empty() const { return waiting_.empty(); }

  /// Gives one frame its inputs and returns the key lines that were pressed. A key that a key line
  /// answers does not go on, nor does the letter it writes. `hold_letters`: a text field is about
  /// to get the keyboard; letters wait, and keys that edit.
  std::vector<const KeyLine*> give_frame(const Answer& answer, const Pass& pass, bool hold_letters);

 private:
  std::deque<Input> waiting_;
  bool drop_letter_ = false;  ///< the next letter was written by a key that a key line answered
};

/// The chord of a key press, where letters are those of the user's layout, not of the key's place.
Chord chord_of(const InputQueue::Key& key);

}  // namespace stonecall::desk
