#include <iostream>
#include <memory>

#include "console/commands/check.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_check(CLI::App& app, int& exit_code) {
  auto path = std::make_shared<std::string>();
  CLI::App* command = app.add_subcommand(
      "check", "Hold a recorded log or a plan against its format, faults by line");
  command->add_option("file", *path, "log (JSON Lines) or plan (JSON)")->required();
  command->callback([path, &exit_code] { exit_code = check(*path, std::cout, std::cerr); });
}

}  // namespace stonecall::commands
