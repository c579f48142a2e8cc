#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace stonecall::commands {

/// Writes beside the place first, then into it, so that a full disk leaves what was there before.
/// What a link leads to is written, not the link; a device or a pipe is written as it is. What went
/// wrong is said on `err`.
bool write_file(const std::string& path, const std::string& text, std::ostream& err);

/// Whether nothing that is to be written would go over what is read, or over another that is
/// written; asked before anything is. Empty names are none. What would be lost is said on `err`.
bool spares(const std::vector<std::string>& written, const std::vector<std::string>& read,
            std::ostream& err);

}  // namespace stonecall::commands
