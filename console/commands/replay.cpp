#include <iostream>

#include "console/commands/desk_options.hpp"
#include "console/commands/read_file.hpp"
#include "console/commands/subcommand.hpp"
#include "console/commands/write_file.hpp"
#include "console/desk/replay_source.hpp"
#include "protocol/log.hpp"

namespace stonecall::commands {
namespace {

struct ReplayOptions : DeskOptions {
  std::string log;
  double speed = 1;
  bool play = false;
  bool end = false;  ///< laid beside
};

int replay(const ReplayOptions& options) {
  if (!spares({options.screenshot}, {options.log, options.log + ".remarks"}, std::cerr)) return 2;
  auto log = protocol::read_log_file(options.log);
  if (!log) {
    std::cerr << "stonecall: " << protocol::to_string(log.error()) << '\n';
    return 2;
  }
  for (const protocol::Fault& fault : log->faults)
    std::cerr << "stonecall: " << options.log << ": " << protocol::to_string(fault) << '\n';
  if (log->events.empty()) {
    std::cerr << "stonecall: " << options.log << ": holds no event that can be read\n";
    return 2;
  }

  desk::ReplaySetup setup;
  setup.events = log->events;
  const std::filesystem::path path(options.log);
  setup.name = path.filename().string();
  // Remarks made during a replay live beside the recording, never in it.
  auto beside = path;
  beside += ".remarks";
  const auto before = kept_events(beside.string(), std::cerr);
  setup.events.insert(setup.events.end(), before.begin(), before.end());

  std::optional<protocol::Milliseconds> at;
  if (!options.at.empty()) {
    auto read = protocol::parse_elapsed(options.at);
    if (!read) {
      std::cerr << "stonecall: --at: " << read.error().what << '\n';
      return 2;
    }
    at = *read;
  }
  protocol::Instant start{};
  bool planned = false;
  for (const protocol::EventPtr& event : setup.events)
    if (const auto* plan = std::get_if<protocol::PlanGiven>(&event->body); plan && !planned) {
      start = plan->plan->start.instant;
      planned = true;
    }

  if (!options.screenshot.empty()) {
    desk::ReplaySource source(std::move(setup), workers(), {});
    if (!planned) start = source.begin();
    source.seek(at ? start + *at : source.end());
    source.lay_end_beside(options.end);
    constexpr std::size_t notes_in_sight = 128;  // more than the highest screen has room for
    source.settle(notes_in_sight);
    return write_screenshot(options, *source.view());
  }
  setup.beside = beside;
  return sit_at(options, [&](desk::Source::Wake wake) {
    auto source =
        std::make_unique<desk::ReplaySource>(std::move(setup), workers(), std::move(wake));
    if (at) source->seek((planned ? start : source->begin()) + *at);
    source->speed(options.speed);
    source->lay_end_beside(options.end);
    if (options.play) source->play(true);
    return source;
  });
}

}  // namespace

void add_replay(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<ReplayOptions>();
  CLI::App* command = app.add_subcommand("replay", "Open the desk on a recorded log");
  command->add_option("log", options->log, "recorded log (JSON Lines)")->required();
  command->add_option("--at", options->at, "begin at this elapsed time, as 1:12:40 or 72m");
  command->add_option("--speed", options->speed, "times as fast as it happened")
      ->check(CLI::Range(1, 600))
      ->capture_default_str();
  command->add_flag("--play", options->play, "begin playing at once");
  command->add_flag("--end", options->end,
                    "lay what is known at the end beside what was known then (Ctrl+E)");
  command->add_option("--screenshot", options->screenshot,
                      "write a PNG of the desk instead of opening it");
  add_desk_options(*command, *options);
  command->callback([options, &exit_code] { exit_code = replay(*options); });
}

}  // namespace stonecall::commands
