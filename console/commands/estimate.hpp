#pragma once

#include <iosfwd>
#include <string>
#include <string_view>

#include "protocol/event.hpp"

namespace stonecall::commands {

/// A request of the calculator (console/estimate/calculator.hpp) from what somebody typed: a JSON
/// object as described there, or a bare table of whole numbers: a row a look, a column a kind,
/// parted by spaces, tabs, commas or semicolons; a single row is counts. Empty lines and what
/// follows a '#' are passed over. Faults name the line. At most 1 MB.
protocol::Result<protocol::Json> calculator_request(std::string_view text);

/// `stonecall estimate`: reads a request from `in` and writes every estimate it allows as JSON.
/// Exit code: 0; 2 where the request cannot be used, which is said on `err`.
int estimate(std::istream& in, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
