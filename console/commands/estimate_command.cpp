#include <iostream>
#include <memory>

#include "console/commands/estimate.hpp"
#include "console/commands/read_file.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {
namespace {

constexpr const char* kHelp = R"(What may be asked for, as a JSON object with one or more of:
  "counts": [46, 22, 1]            rocks counted per kind, without choosing
  "looks": [[7, 2, 1], [5, 5, 0]]  the same look by look: a row a look, a column a kind
     with either: "shares": [{"kind": 0, "percent": [60, 80]}]  what somebody said of a kind
                  "further": [10, 50]    rocks to be looked at from here on
                  "design_effect": 1.5, "prior_each": 0.5, "chosen": 11, "other_last": true
  "kind": {"met": 7, "counted": 10}
  "meet": {"share": 0.05, "confidence": 0.95}
  "miss_none": {"smallest_share": 0.05, "miss_probability": 0.05}
  "pace": {"events": 7, "minutes": 20, "further_minutes": 10}
  "same_ground": [[7, 2, 1], [1, 8, 1]]
  "caller": {"pairs": [{"spoken_percent": 30, "range_percent": 10, "met": 2, "counted": 10}]}
  "size_mm": 35, "roundness": 0.3
and "confidence": 0.9 for all intervals. Or a bare table of whole numbers, a row a look.

Examples:
  echo '7 2 1' | stonecall estimate
  echo '{"counts": [7, 2, 1], "further": [10]}' | stonecall estimate
  stonecall estimate counts.txt)";

}  // namespace

void add_estimate(CLI::App& app, int& exit_code) {
  auto path = std::make_shared<std::string>("-");
  CLI::App* command = app.add_subcommand(
      "estimate", "Work out every estimate from counts or looks typed or piped in, as JSON");
  command->add_option("file", *path,
                      "where the counts stand; without it, or \"-\", standard input");
  command->footer(kHelp);
  command->callback([path, &exit_code] {
    if (*path == "-") {
      exit_code = estimate(std::cin, std::cout, std::cerr);
      return;
    }
    auto file = open_file(*path);
    if (!file) {
      std::cerr << "stonecall: " << protocol::to_string(file.error()) << '\n';
      exit_code = 2;
      return;
    }
    exit_code = estimate(*file, std::cout, std::cerr);
  });
}

}  // namespace stonecall::commands
