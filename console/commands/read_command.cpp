#include <iostream>
#include <memory>

#include "console/commands/read.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_read(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<ReadOptions>();
  CLI::App* command = app.add_subcommand(
      "read", "Read voice notes and print the facts they state, a JSON line for each note");
  command
      ->add_option("notes", options->notes,
                   "notes: JSON Lines (objects with \"text\", \"id\" and \"from\", or a recorded "
                   "log), WebVTT (.vtt) or SubRip (.srt)")
      ->required();
  command->add_option("--plan", options->plan,
                      "plan, or a log that starts with one: the team's rock kinds and stations; "
                      "without it a plan line among the notes, else the built-in kinds alone");
  command
      ->add_option("--base", options->base,
                   "who speaks for the back room: those notes state nothing; a plan may say it")
      ->capture_default_str();
  command->footer(
      "Each fact says from which bytes of the note it was read and how sure it is (0 to 1).\n"
      "What was skipped is named by line on standard error; then the exit code is 1.\n"
      "Example: stonecall read loop.vtt --plan replay_logs/varrow_rim.jsonl > proposed.jsonl");
  command->callback([options, &exit_code] { exit_code = read(*options, std::cout, std::cerr); });
}

}  // namespace stonecall::commands
