#pragma once

#include <iosfwd>
#include <string>

namespace stonecall::commands {

/// Writes beside the place first, then into it, so that a full disk leaves what was there before.
/// What went wrong is said on `err`.
bool write_file(const std::string& path, const std::string& text, std::ostream& err);

}  // namespace stonecall::commands
