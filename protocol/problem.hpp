#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "protocol/event.hpp"

namespace stonecall::protocol {

/// The sentence of an answer that is a problem document (RFC 9457, "detail"); none where there is
/// none, or the answer is longer than the limit or is something else.
inline std::optional<std::string> problem_detail(std::string_view answer, std::size_t limit_bytes) {
  const auto problem = parse_json(answer, limit_bytes);
  if (!problem || !problem->is_object()) return std::nullopt;
  const auto detail = problem->find("detail");
  if (detail == problem->end() || !detail->is_string()) return std::nullopt;
  return detail->get<std::string>();
}

}  // namespace stonecall::protocol
