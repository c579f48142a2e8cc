#pragma once

// The words that enumerations are written as; one table each.

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "protocol/event.hpp"

namespace stonecall::protocol {

template <class Enum>
struct WordTable;

template <>
struct WordTable<View> {
  static constexpr std::array<std::pair<View, std::string_view>, 5> words{{
      {View::stereo_pair, "stereo_pair"},
      {View::stereo_left, "stereo_left"},
      {View::stereo_right, "stereo_right"},
      {View::down_sun, "down_sun"},
      {View::after, "after"},
  }};
};

template <>
struct WordTable<Description> {
  static constexpr std::array<std::pair<Description, std::string_view>, 9> words{{
      {Description::buried, "buried"},
      {Description::picked, "picked"},
      {Description::relation, "relation"},
      {Description::like_it, "like_it"},
      {Description::size, "size"},
      {Description::shape, "shape"},
      {Description::colour, "colour"},
      {Description::texture, "texture"},
      {Description::description, "description"},
  }};
};

template <>
struct WordTable<Side> {
  static constexpr std::array<std::pair<Side, std::string_view>, 2> words{{
      {Side::field, "field"},
      {Side::back_room, "back_room"},
  }};
};

template <>
struct WordTable<Outcome> {
  static constexpr std::array<std::pair<Outcome, std::string_view>, 3> words{{
      {Outcome::accepted, "accepted"},
      {Outcome::edited, "edited"},
      {Outcome::declined, "declined"},
  }};
};

template <>
struct WordTable<Says> {
  static constexpr std::array<std::pair<Says, std::string_view>, 5> words{{
      {Says::stay, "stay"},
      {Says::move_on, "move_on"},
      {Says::get, "get"},
      {Says::ask, "ask"},
      {Says::free, "free"},
  }};
};

template <>
struct WordTable<Answered> {
  static constexpr std::array<std::pair<Answered, std::string_view>, 3> words{{
      {Answered::heard, "heard"},
      {Answered::acting, "acting"},
      {Answered::declined, "declined"},
  }};
};

template <class Enum>
constexpr std::string_view word_of(Enum value) {
  for (const auto& [each, word] : WordTable<Enum>::words) {
    if (each == value) return word;
  }
  return "";
}

template <class Enum>
constexpr std::optional<Enum> from_word(std::string_view word) {
  for (const auto& [each, name] : WordTable<Enum>::words) {
    if (name == word) return each;
  }
  return std::nullopt;
}

/// "heard, acting or declined"
template <class Enum>
std::string all_words() {
  std::string text;
  const auto& words = WordTable<Enum>::words;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += words[i].second;
  }
  return text;
}

}  // namespace stonecall::protocol
