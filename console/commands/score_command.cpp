#include <filesystem>
#include <iostream>
#include <memory>

#include "console/commands/score.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_score(CLI::App& app, int& exit_code) {
  auto files = std::make_shared<ScoreFiles>();
  CLI::App* command = app.add_subcommand(
      "score", "Judge a practice run by its record, and say which stated chances came true");
  command->add_option("record", files->record, "the record that practice wrote")->required();
  command->add_option("--log", files->log, "the recorded exercise it was practised on")->required();
  command->add_option("--name", files->adviser, "whose calls to judge")->required();
  command->add_option("--came-true", files->came_true, "numbers of the stated chances that did")
      ->delimiter(',');
  command->add_option("--did-not", files->did_not, "numbers of those that did not")->delimiter(',');
  command->add_option("--ground", files->ground,
                      "the hidden ground, where the exercise was made up");
  command->add_option("-o,--sheet", files->sheet, "the score sheet; without it beside the record");
  command->footer(
      "Example: stonecall score RUN.record.jsonl --log replay_logs/varrow_rim.jsonl --name WREN "
      "--came-true 1,3 --did-not 2");
  command->callback([files, &exit_code] {
    const std::filesystem::path record(files->record);
    // The record's name is the run's: what practice calls NAME.record.jsonl has NAME.html beside
    // it. Any other file, such as a replay's remarks, is no run of practice.
    const bool practised = record.stem().extension() == ".record";
    const auto run = practised ? record.stem().stem() : record.filename();
    files->day = run.string();
    if (files->sheet.empty())
      files->sheet = (record.parent_path() / run).string() + (practised ? ".html" : ".score.html");
    if (practised) files->runs = (record.parent_path() / "runs.jsonl").string();
    exit_code = score(*files, std::cout, std::cerr);
  });
}

}  // namespace stonecall::commands
