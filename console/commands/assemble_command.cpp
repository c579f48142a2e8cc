#include <charconv>
#include <iostream>
#include <memory>

#include "console/commands/assemble.hpp"
#include "console/commands/named_values.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {
namespace {

struct Given : AssembleOptions {
  std::vector<std::string> start, offset, voice;  ///< NAME=VALUE
};

bool take(Given& given) {
  std::map<std::string, std::string> offsets;
  if (!take_named("--start", "FILE=TIME", given.start, given.starts, std::cerr) ||
      !take_named("--voice", "TAG=NAME", given.voice, given.voices, std::cerr) ||
      !take_named("--offset", "FILE=SECONDS", given.offset, offsets, std::cerr))
    return false;
  for (const auto& [file, text] : offsets) {
    const char* const end = text.data() + text.size();
    const auto [stop, error] = std::from_chars(text.data(), end, given.offsets[file]);
    if (error == std::errc() && stop == end) continue;
    std::cerr << "stonecall: --offset: \"" << text << "\" is not a number of seconds\n";
    return false;
  }
  return true;
}

}  // namespace

void add_assemble(CLI::App& app, int& exit_code) {
  auto given = std::make_shared<Given>();
  CLI::App* command = app.add_subcommand(
      "assemble", "Make a log of transcripts and a catalogue of samples from elsewhere");
  command->add_option("captions", given->captions, "WebVTT (.vtt) or SubRip (.srt), one or more");
  command->add_option("-o,--log", given->log, "the log to write (JSON Lines)")->required();
  command->add_option("--samples", given->samples,
                      "the samples as CSV (RFC 4180; commas, semicolons or tabs)");
  command->add_option("--plan", given->plans,
                      "a plan, in force from its start; may be given again");
  command->add_option("--start", given->start,
                      "FILE=TIME: when a recording began, as loop.vtt=2027-05-18T09:00:00+02:00; "
                      "without it \"start: TIME\" in the header or a NOTE of a WebVTT file");
  command->add_option("--offset", given->offset,
                      "FILE=SECONDS by which that recorder's clock was slow; negative: fast");
  command->add_option("--voice", given->voice,
                      "TAG=NAME: what the voice TAG says is from NAME; may be given again");
  command->add_option("--from", given->from, "who speaks where a cue does not say")
      ->capture_default_str();
  command
      ->add_option("--sure", given->sure,
                   "facts read from the notes count from this sureness on, 0 to 1; above 1: none")
      ->check(CLI::NonNegativeNumber)
      ->capture_default_str();
  command->add_option(
      "--unmatched", given->unmatched,
      "where to write what could not be matched or read; without it standard error");
  command->footer(
      "Columns of the CSV go by their heading, in any order: number, bag, rock, station, time,\n"
      "latitude, longitude, description and the others that `stonecall debrief --csv` writes.\n"
      "Assembled again, the same files give the same log.\n"
      "Exit code: 0 all matched, 1 some not, 2 wrong use or nothing written.\n"
      "Example: stonecall assemble day1.vtt day2.vtt --start day1.vtt=2027-06-09T08:30:00+04:00\n"
      "  --start day2.vtt=2027-06-10T08:30:00+04:00 --samples samples.csv --plan ridge.plan.json\n"
      "  -o season.jsonl");
  command->callback([given, &exit_code] {
    exit_code = take(*given) ? assemble(*given, std::cout, std::cerr) : 2;
  });
}

}  // namespace stonecall::commands
