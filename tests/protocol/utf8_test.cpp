#include "protocol/utf8.hpp"

#include <catch2/catch.hpp>

namespace utf8 = stonecall::protocol::utf8;

TEST_CASE("a letter of each length is read and written as Unicode's table 3-6 has it") {
  // Unicode 15.0, table 3-6 and the examples of section 3.9: U+0430, U+4E8C, U+10302.
  const auto [bytes, point] = GENERATE(table<std::string, char32_t>(
      {{"M", 0x4D}, {"\xD0\xB0", 0x430}, {"\xE4\xBA\x8C", 0x4E8C}, {"\xF0\x90\x8C\x82", 0x10302}}));
  const auto letter = utf8::letter_at("x" + bytes + "y", 1);
  CHECK(letter.point == point);
  CHECK(letter.length == bytes.size());
  std::string written;
  utf8::append(written, point);
  CHECK(written == bytes);
}

TEST_CASE("what is not UTF-8 is no letter, and one byte long") {
  // A trail byte alone, an overlong solidus, a surrogate, past U+10FFFF, a letter cut off.
  const std::string bytes =
      GENERATE("\x80", "\xC0\xAF", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xE4\xBA", "\xFF");
  CHECK(utf8::letter_at(bytes, 0).point == 0);
  CHECK(utf8::letter_at(bytes, 0).length == 1);
}

TEST_CASE("what is no letter is written as the sign for that") {
  const char32_t point = GENERATE(0u, 0xD800u, 0x110000u);
  std::string written;
  utf8::append(written, point);
  CHECK(written == "\xEF\xBF\xBD");
}

TEST_CASE("the beginning of a text ends with a whole letter") {
  const std::string text = "s\xC3\xA4ule";
  CHECK(utf8::beginning(text, 20) == text);
  CHECK(utf8::beginning(text, 3) == "s\xC3\xA4");
  CHECK(utf8::beginning(text, 2) == "s");
  CHECK(utf8::beginning(text, 1) == "s");
  CHECK(utf8::beginning(text, 0).empty());
}
