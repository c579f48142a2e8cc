#pragma once

#include <string>
#include <string_view>

#include "server/problem.hpp"

namespace stonecall::server {

inline constexpr std::string_view json_type = "application/json";
inline constexpr std::string_view problem_type = "application/problem+json";  ///< RFC 9457
inline constexpr std::string_view lines_type = "application/x-ndjson";
inline constexpr std::string_view strict_policy = "default-src 'none'; frame-ancestors 'none'";

/// An answer, to be written as text: of Beast's own messages a field each is allocated.
struct Answer {
  unsigned status = 200;
  std::string_view type = json_type;
  std::string body;
  std::string fields;  ///< further ones, each as a line
  std::string_view policy = strict_policy;
};

void add_field(std::string& text, std::string_view name, std::string_view value);

/// The header without its last, empty line. `version` is 10 or 11.
std::string head_of(const Answer& answer, unsigned version, bool keep_alive);

/// With the fields that go with its status (RFC 9110).
Answer answer_of(const Problem& problem);

}  // namespace stonecall::server
