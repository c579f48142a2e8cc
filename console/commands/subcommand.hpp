#pragma once

#include <CLI/CLI.hpp>

/// A subcommand of the program `stonecall`: it adds its options to the command line and what is to
/// be done when it was given. One file a subcommand; main.cpp lists them.
namespace stonecall::commands {

/// `exit_code` is set by the callback that runs the subcommand.
using AddSubcommand = void (*)(CLI::App& app, int& exit_code);

void add_live(CLI::App& app, int& exit_code);
void add_replay(CLI::App& app, int& exit_code);
void add_advise(CLI::App& app, int& exit_code);
void add_check(CLI::App& app, int& exit_code);
void add_debrief(CLI::App& app, int& exit_code);
void add_estimate(CLI::App& app, int& exit_code);
void add_read(CLI::App& app, int& exit_code);
void add_feed(CLI::App& app, int& exit_code);
void add_practice(CLI::App& app, int& exit_code);
void add_score(CLI::App& app, int& exit_code);
void add_assemble(CLI::App& app, int& exit_code);
void add_plan(CLI::App& app, int& exit_code);

}  // namespace stonecall::commands
