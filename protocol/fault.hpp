#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include <tl/expected.hpp>

namespace stonecall::protocol {

/// What is wrong with outside input, and where. Bad input is a value, never an exception.
struct Fault {
  std::string member;               ///< path of the member, as "counts[2].rock"; empty: the whole
  std::string what;                 ///< what is wrong and what was expected
  std::optional<std::size_t> line;  ///< line of the file, from 1

  bool operator==(const Fault&) const = default;
};

/// `line 118: "at": not RFC 3339`
std::string to_string(const Fault& fault);

template <class T>
using Result = tl::expected<T, Fault>;

}  // namespace stonecall::protocol
