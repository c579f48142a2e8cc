#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include <CLI/CLI.hpp>

#include "console/desk/run.hpp"

namespace stonecall::commands {

/// What `live`, `replay` and `practice` have in common on the command line.
struct DeskOptions {
  std::string theme, size, name = "DESK";
  int scale = 0;               ///< percent; 0: as remembered
  std::string screenshot, at;  ///< file; elapsed time
};

void add_desk_options(CLI::App& command, DeskOptions& options);

/// The remembered settings with what the command line says instead. Faults name the option.
protocol::Result<desk::Settings> settings_for(const DeskOptions& options);

/// The parts that read notes and work out numbers, as the desk's sources want them.
desk::Workers workers();
desk::ReadSpeech read_speech();

/// Where what outlives a run but is no setting is kept: $XDG_STATE_HOME/stonecall, else
/// ~/.local/state/stonecall (XDG Base Directory Specification); empty where neither is set.
std::filesystem::path state_folder();

/// Opens the desk on a source and remembers the settings it was left with. Returns the exit code.
int sit_at(const DeskOptions& options,
           const std::function<std::unique_ptr<desk::Source>(desk::Source::Wake)>& open);

/// Writes a picture of the desk. Returns the exit code.
int write_screenshot(const DeskOptions& options, const desk::View& view);

}  // namespace stonecall::commands
