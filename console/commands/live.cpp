#include <iostream>

#include "console/commands/desk_options.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_live(CLI::App& app, int& exit_code) { (void)app; (void)exit_code; }

}  // namespace stonecall::commands
