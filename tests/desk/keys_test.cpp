#include "console/desk/keys.hpp"

#include <set>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/view.hpp"

using namespace stonecall::desk;

TEST_CASE("every key line says what it does and answers to a key") {
  std::set<std::string_view> ids;
  auto check = [&](std::span<const KeyLine> lines, std::optional<RegionId> region) {
    for (const KeyLine& line : lines) {
      CAPTURE(line.id);
      CHECK_FALSE(line.words.empty());
      CHECK_FALSE(line.chords.empty());
      CHECK(line.region == region);
      CHECK(ids.insert(line.id).second);
      for (Chord chord : line.chords) CHECK(to_string(chord).back() != '?');
    }
  };
  check(desk_keys(), std::nullopt);
  for (RegionId region : all_regions) check(keys_of(region), region);
  for (RegionId sheet : all_sheets) check(keys_of(sheet), sheet);
}

TEST_CASE("within a region no key means two things") {
  for (RegionId region : all_regions) {
    std::vector<Chord> seen;
    for (const KeyLine& line : keys_of(region))
      for (Chord chord : line.chords) {
        CAPTURE(name_of(region), line.id, to_string(chord));
        CHECK(std::find(seen.begin(), seen.end(), chord) == seen.end());
        seen.push_back(chord);
      }
  }
}

TEST_CASE("letters go into the text while somebody types") {
  View view;
  CHECK(line_for({GLFW_KEY_S, 0}, RegionId::heard, false, view) != nullptr);
  CHECK(line_for({GLFW_KEY_S, 0}, RegionId::heard, true, view) == nullptr);
  CHECK(line_for({GLFW_KEY_SPACE, 0}, RegionId::entry, true, view) == nullptr);
}

TEST_CASE("every region is reached by a key from every other, typing or not") {
  View view;
  for (RegionId from : all_regions)
    for (int key : {GLFW_KEY_F2, GLFW_KEY_F3, GLFW_KEY_F4, GLFW_KEY_F5, GLFW_KEY_F6, GLFW_KEY_F7})
      for (bool typing : {false, true}) CHECK(line_for({key, 0}, from, typing, view) != nullptr);
}

TEST_CASE("the player's keys are silent where there is no player") {
  View live;
  CHECK(line_for({GLFW_KEY_SPACE, 0}, RegionId::hours, false, live) == nullptr);
  View recorded;
  recorded.playback = Playback{};
  CHECK(line_for({GLFW_KEY_SPACE, 0}, RegionId::hours, false, recorded) != nullptr);
}

TEST_CASE("chords are written as the keyboard shows them") {
  CHECK(to_string({GLFW_KEY_UP, GLFW_MOD_CONTROL}) == "Ctrl+↑");
  CHECK(to_string({GLFW_KEY_F1, 0}) == "F1");
  CHECK(to_string({GLFW_KEY_A, GLFW_MOD_SHIFT}) == "Shift+a");
}
