#pragma once

#include <fstream>
#include <iosfwd>
#include <string>
#include <vector>

#include "protocol/event.hpp"
#include "protocol/fault.hpp"

namespace stonecall::commands {

/// A file to be read. The fault says which file and why not; a folder is no file.
protocol::Result<std::ifstream> open_file(const std::string& path);

/// All of it.
protocol::Result<std::string> read_file(const std::string& path);

/// What earlier runs kept in a file, JSON Lines, that need not be there yet. What of it can not be
/// read is told to `err`, by line; the rest counts.
std::vector<protocol::EventPtr> kept_events(const std::string& path, std::ostream& err);

}  // namespace stonecall::commands
