#include <array>
#include <iostream>

#include <CLI/CLI.hpp>
#include <malloc.h>

#include "console/commands/subcommand.hpp"

namespace {

using namespace stonecall::commands;

// A new subcommand: one file in commands/, one name here.
constexpr std::array subcommands{
    add_live,      //
    add_replay,    //
    add_practice,  //
    add_score,     //
    add_debrief,   //
    add_read,      //
    add_feed,      //
    add_assemble,  //
    add_plan,      //
    add_check,     //
    add_advise,    //
    add_estimate,  //
};

}  // namespace

int main(int argc, char** argv) {
#ifdef M_ARENA_MAX
  // Each thread that reads or works beside the window would keep what it frees to itself: with a
  // log of 100,000 events some 10 MiB.
  mallopt(M_ARENA_MAX, 2);
#endif
  CLI::App app{"Back-room support for a field party that samples rocks", "stonecall"};
  app.require_subcommand(1);
  int exit_code = 0;
  for (AddSubcommand add : subcommands) add(app, exit_code);
  CLI11_PARSE(app, argc, argv);
  if (!std::cout.flush()) {
    // A script must not take what was cut short for the whole.
    std::cerr << "stonecall: not all could be written to standard output\n";
    if (exit_code == 0) exit_code = 2;
  }
  return exit_code;
}
