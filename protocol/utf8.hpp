#pragma once

#include <cstddef>
#include <iterator>
#include <string>
#include <string_view>

#include <boost/locale/utf.hpp>

/// Letters of a text as bytes (UTF-8, Unicode 15, section 3.9). Whether a whole text is UTF-8:
/// simdjson::validate_utf8.
namespace stonecall::protocol::utf8 {

struct Letter {
  char32_t point = 0;      ///< 0: what stands there is not UTF-8
  std::size_t length = 1;  ///< bytes
};

/// The letter that begins at a byte; `at` < the text's size.
inline Letter letter_at(std::string_view text, std::size_t at) {
  using Utf8 = boost::locale::utf::utf_traits<char>;
  const char* end = text.data() + at;
  const auto point = Utf8::decode(end, text.data() + text.size());
  if (!boost::locale::utf::is_valid_codepoint(point)) return {};
  return {point, static_cast<std::size_t>(end - text.data()) - at};
}

/// U+FFFD in place of what is no letter: 0, a surrogate, a value past the last code point.
inline void append(std::string& text, char32_t point) {
  if (point == 0 || !boost::locale::utf::is_valid_codepoint(point)) point = U'\uFFFD';
  boost::locale::utf::utf_traits<char>::encode(point, std::back_inserter(text));
}

/// The beginning of a text, so many bytes long at most, that ends with a whole letter.
inline std::string_view beginning(std::string_view text, std::size_t most) {
  if (text.size() <= most) return text;
  while (most > 0 && boost::locale::utf::utf_traits<char>::is_trail(text[most])) --most;
  return text.substr(0, most);
}

}  // namespace stonecall::protocol::utf8
