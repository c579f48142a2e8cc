#include "console/desk/input_queue.hpp"

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/view.hpp"

using namespace stonecall::desk;
using Key = InputQueue::Key;
using Letter = InputQueue::Letter;

namespace {

struct Frames {
  InputQueue queue;
  std::vector<std::string>
      frames;  ///< what each frame got: letters, "<" key down, ">" key up, "!" key line
  bool hold = false;

  void run() {
    for (int guard = 0; guard < 100 && !queue.empty(); ++guard) {
      std::string got;
      auto pressed = queue.give_frame(
          [](Chord chord) { return line_for(chord, RegionId::entry, true, View{}); },
          [&](const InputQueue::Input& input) {
            if (const auto* letter = std::get_if<Letter>(&input))
              got += static_cast<char>(letter->sign);
            if (const auto* key = std::get_if<Key>(&input))
              got += key->action == GLFW_RELEASE ? '>' : '<';
          },
          hold);
      for (std::size_t i = 0; i < pressed.size(); ++i) got += '!';
      frames.push_back(got);
    }
  }
  void tap(int key) {
    queue.add(Key{key, 0, GLFW_PRESS, 0});
    queue.add(Key{key, 0, GLFW_RELEASE, 0});
  }
};

}  // namespace

TEST_CASE("a key pressed and released between two frames is seen by both") {
  Frames f;
  f.tap(GLFW_KEY_BACKSPACE);
  f.run();
  CHECK(f.frames == std::vector<std::string>{"<", ">"});
}

TEST_CASE("letters typed after Enter do not overtake it") {
  Frames f;
  f.queue.add(Letter{'a'});
  f.queue.add(Letter{'b'});
  f.tap(GLFW_KEY_ENTER);
  f.queue.add(Letter{'c'});
  f.run();
  REQUIRE(f.frames.size() >= 2);
  CHECK(f.frames[0] == "ab!");
  CHECK(f.frames[1] == ">c");
}

TEST_CASE("letters typed after Backspace do not overtake it") {
  Frames f;
  f.queue.add(Key{GLFW_KEY_BACKSPACE, 0, GLFW_PRESS, 0});
  f.queue.add(Letter{'x'});
  f.run();
  CHECK(f.frames == std::vector<std::string>{"<", "x"});
}

TEST_CASE("letters wait for a text field that is about to get the keyboard") {
  Frames f;
  f.hold = true;
  f.queue.add(Letter{'a'});
  f.queue.give_frame([](Chord) { return nullptr; },
                     [](const InputQueue::Input&) { FAIL("given too early"); }, true);
  f.hold = false;
  f.run();
  CHECK(f.frames == std::vector<std::string>{"a"});
}

TEST_CASE("a key that edits waits for the text field too, and so does what is typed after it") {
  Frames f;
  f.hold = true;
  f.queue.add(Key{GLFW_KEY_BACKSPACE, 0, GLFW_PRESS, 0});
  f.queue.add(Letter{'a'});
  f.queue.give_frame([](Chord) { return nullptr; },
                     [](const InputQueue::Input&) { FAIL("given too early"); }, true);
  f.hold = false;
  f.run();
  CHECK(f.frames == std::vector<std::string>{"<", "a"});
}

TEST_CASE("the letter of a key that was a command is not typed") {
  InputQueue queue;
  queue.add(Key{GLFW_KEY_S, 0, GLFW_PRESS, 0});
  queue.add(Letter{'s'});
  queue.add(Letter{'t'});
  std::string typed;
  auto answer = [](Chord chord) { return line_for(chord, RegionId::heard, false, View{}); };
  auto pass = [&](const InputQueue::Input& input) {
    if (const auto* letter = std::get_if<Letter>(&input)) typed += static_cast<char>(letter->sign);
  };
  CHECK(queue.give_frame(answer, pass, false).size() == 1);
  CHECK(queue.give_frame(answer, pass, false).empty());
  CHECK(typed == "t");
}
