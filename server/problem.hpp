#pragma once

#include <string>

#include "protocol/plan.hpp"

namespace stonecall::server {

/// An error answer as RFC 9457 has it ("application/problem+json").
struct Problem {
  unsigned status = 400;
  std::string detail;  ///< what is wrong with this request and what was expected
  protocol::Json more = protocol::Json::object();  ///< members beside the standard ones

  /// `{"type":"about:blank","title":…,"status":…,"detail":…}`; the title is the status's own
  /// phrase.
  protocol::Json to_json() const;
};

}  // namespace stonecall::server
