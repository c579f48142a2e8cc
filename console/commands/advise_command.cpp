#include <iostream>
#include <memory>

#include "console/commands/advise.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_advise(CLI::App& app, int& exit_code) {
  struct Options {
    std::string log;
    std::string at;
  };
  auto options = std::make_shared<Options>();
  CLI::App* command = app.add_subcommand(
      "advise", "Print what was known at a time, the estimates and the advised call, as JSON");
  command->add_option("log", options->log, "recorded log (JSON Lines)")->required();
  command->add_option("--at", options->at,
                      "elapsed time, as 1:12:40, 1:12 or 72m; without it the end of the log");
  command->footer("Example: stonecall advise replay_logs/varrow_rim.jsonl --at 1:10");
  command->callback([options, &exit_code] {
    std::optional<protocol::Milliseconds> at;
    if (!options->at.empty()) {
      const auto read = protocol::parse_elapsed(options->at);
      if (!read) {
        std::cerr << "stonecall: --at: " << read.error().what << '\n';
        exit_code = 2;
        return;
      }
      at = *read;
    }
    exit_code = advise(options->log, at, std::cout, std::cerr);
  });
}

}  // namespace stonecall::commands
