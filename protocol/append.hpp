#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace stonecall::protocol {

/// Adds whole lines (each with its line feed) to a file, which is made if it is not there. Half a
/// line that a writer left at its end is kept apart from them. Why it could not, or empty.
std::string append_lines(const std::filesystem::path& file, std::string_view lines);

}  // namespace stonecall::protocol
