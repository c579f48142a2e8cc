#pragma once

#include <iosfwd>
#include <optional>
#include <string>

#include "console/advise/assessment.hpp"
#include "protocol/plan.hpp"

namespace stonecall::commands {

/// `stonecall advise LOG --at ELAPSED`: what was known then (received by then), the estimates and
/// the advised call, as one JSON object. Without `at`: as known at the end. Faults of the log go to
/// `err` by line, and what is valid is used. Exit code: 0; 2 where nothing can be read.
int advise(const std::string& path, const std::optional<protocol::Milliseconds>& at,
           std::ostream& out, std::ostream& err);

/// An assessment as JSON: times as elapsed text, shares as fractions, members named as in
/// assessment.hpp.
protocol::Json to_json(const advise::Assessment& assessment, const picture::Picture& picture);

}  // namespace stonecall::commands
