#include <chrono>
#include <filesystem>
#include <iostream>
#include <memory>

#include "console/commands/places.hpp"
#include "console/commands/read_file.hpp"
#include "console/commands/subcommand.hpp"
#include "console/commands/write_file.hpp"

namespace stonecall::commands {
namespace {

struct PlanOptions {
  bool begin = false;
  std::string places, name = "New exercise", start, out;
};

int failed(const std::string& what) {
  std::cerr << "stonecall: " << what << '\n';
  return 2;
}

int plan(const PlanOptions& options) {
  if (!options.begin) return failed("say what to do with a plan: --new begins one");
  protocol::Timestamp start;
  start.instant = std::chrono::ceil<std::chrono::hours>(std::chrono::system_clock::now());
  if (!options.start.empty()) {
    const auto read = protocol::parse_timestamp(options.start);
    if (!read) return failed("--start: " + read.error().what);
    start = *read;
  }
  std::vector<Place> places;
  if (!options.places.empty()) {
    const auto text = read_file(options.places);
    if (!text) return failed(protocol::to_string(text.error()));
    auto read = places_from(*text);
    if (!read) return failed(options.places + ": " + protocol::to_string(read.error()));
    places = std::move(*read);
  }
  const auto plan = starter_plan(std::move(places), options.name, start);
  const auto made = protocol::to_json(plan);
  // What a plan must hold is checked before anybody takes it into the field.
  if (const auto read = protocol::plan_from_json(made); !read)
    return failed(protocol::to_string(read.error()));
  const std::string text = made.dump(2) + '\n';
  if (options.out.empty()) {
    std::cout << text;
    return 0;
  }
  std::error_code ignored;  // writing tells
  if (std::filesystem::exists(options.out, ignored))
    return failed(options.out + " is there already: give another name, or take it away");
  if (!write_file(options.out, text, std::cerr)) return 2;
  std::cout << "wrote " << options.out << ": " << told_of(plan) << '\n';
  return 0;
}

}  // namespace

void add_plan(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<PlanOptions>();
  CLI::App* command = app.add_subcommand(
      "plan", "Begin a plan, as: stonecall plan --new --stations stops.gpx --out ridge.plan.json");
  command->add_flag("--new", options->begin, "write a plan to be changed by hand");
  command->add_option("--stations", options->places,
                      "take base and stations from points in GeoJSON (RFC 7946) or GPX 1.1");
  command->add_option("--name", options->name, "name of the exercise")->capture_default_str();
  command->add_option("--start", options->start,
                      "planned start, as 2027-06-09T08:30:00+04:00; else the next full hour, UTC");
  command->add_option("--out", options->out, "file to write; else standard output");
  command->callback([options, &exit_code] { exit_code = plan(*options); });
}

}  // namespace stonecall::commands
