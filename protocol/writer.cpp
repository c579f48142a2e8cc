#include "protocol/writer.hpp"

#include <algorithm>
#include <array>
#include <charconv>

namespace stonecall::protocol {

void append_text(std::string& json, std::string_view text) {
  const bool plain = std::ranges::all_of(
      text, [](char c) { return c >= ' ' && c <= '~' && c != '"' && c != '\\'; });
  if (plain) {
    json.append(1, '"').append(text).append(1, '"');
  } else {
    json += Json(text).dump();
  }
}

void append_whole(std::string& json, std::int64_t number) {
  std::array<char, 20> digits;
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  json.append(digits.data(), end);
}

void append_number(std::string& json, double number) {
  constexpr double kExact = 9007199254740992.0;  // 2^53
  if (std::trunc(number) == number && std::abs(number) <= kExact) {
    append_whole(json, static_cast<std::int64_t>(number));
  } else {
    json += Json(number).dump();
  }
}

}  // namespace stonecall::protocol
