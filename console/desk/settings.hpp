#pragma once

#include <filesystem>

#include "console/desk/desk.hpp"
#include "protocol/fault.hpp"

namespace stonecall::desk {

/// $XDG_CONFIG_HOME/stonecall/desk.json, else ~/.config/… (XDG Base Directory Specification); empty
/// where there is no home.
std::filesystem::path settings_file();

/// The remembered settings; the defaults where there are none. A file that cannot be read is set
/// aside as "desk.json.broken", so that the next start is not hindered; single members out of range
/// fall back alone.
Settings load_settings(const std::filesystem::path& file);

/// Writes them whole or not at all.
protocol::Result<void> save_settings(const Settings& settings, const std::filesystem::path& file);

}  // namespace stonecall::desk
