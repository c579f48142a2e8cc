#pragma once

#include <iosfwd>
#include <string>

namespace stonecall::commands {

/// `stonecall check FILE`: holds a recorded log or a plan against its format and names each fault
/// by line; then what a person should look at: of a log what the fold found (one bag number twice,
/// an answer to nothing …), of a plan what it hardly means. Writes to `out`; returns
/// the exit code: 0 nothing found, 1 faults, 2 the file cannot be read.
int check(const std::string& path, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
