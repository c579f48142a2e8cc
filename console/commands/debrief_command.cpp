#include <iostream>
#include <memory>

#include "console/commands/debrief.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {

void add_debrief(CLI::App& app, int& exit_code) {
  auto files = std::make_shared<DebriefFiles>();
  CLI::App* command = app.add_subcommand(
      "debrief", "Write the report of a recorded exercise, and its samples for other programs");
  command->add_option("log", files->log, "recorded log (JSON Lines)")->required();
  command->add_option("-o,--report", files->report, "the report, one HTML file to read and print");
  command->add_option("--csv", files->csv, "samples as CSV (RFC 4180)");
  command->add_option("--geojson", files->geojson, "samples as GeoJSON (RFC 7946)");
  command
      ->add_option("--beside", files->beside,
                   "log of another run of the same plan: the report lays both side by side")
      ->needs("--report");
  command->footer(
      "Examples: stonecall debrief replay_logs/varrow_rim.jsonl -o varrow_rim.html\n"
      "  stonecall debrief first.jsonl --beside second.jsonl -o both.html");
  command->callback([files, &exit_code] {
    if (files->report.empty() && files->csv.empty() && files->geojson.empty()) {
      std::cerr << "stonecall: debrief: name a file to write: -o, --csv or --geojson\n";
      exit_code = 2;
      return;
    }
    exit_code = debrief(*files, std::cerr);
  });
}

}  // namespace stonecall::commands
