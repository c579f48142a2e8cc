#pragma once

#include <fstream>
#include <string>

#include "protocol/fault.hpp"

namespace stonecall::commands {

/// A file to be read. The fault says which file and why not; a folder is no file.
protocol::Result<std::ifstream> open_file(const std::string& path);

/// All of it.
protocol::Result<std::string> read_file(const std::string& path);

}  // namespace stonecall::commands
