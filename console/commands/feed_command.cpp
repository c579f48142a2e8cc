#include <csignal>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <thread>

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/signal_set.hpp>

#include "console/commands/feed.hpp"
#include "console/commands/named_values.hpp"
#include "console/commands/subcommand.hpp"

namespace stonecall::commands {
namespace {

/// Asked to end, it ends with what was read posted, instead of in the middle.
int feed_until_signal(const FeedOptions& options) {
  std::stop_source stop;
  boost::asio::io_context io;
  boost::asio::signal_set signals(io, SIGINT, SIGTERM);
  signals.async_wait([&](const boost::system::error_code& cancelled, int) {
    if (!cancelled) stop.request_stop();
  });
  std::thread waiting([&] { io.run(); });
  const int exit_code = feed(options, stop.get_token(), std::cout, std::cerr);
  boost::asio::post(io, [&] { signals.cancel(); });
  waiting.join();
  return exit_code;
}

}  // namespace

void add_feed(CLI::App& app, int& exit_code) {
  struct Options : FeedOptions {
    std::vector<std::string> named;  ///< TAG=NAME
  };
  auto options = std::make_shared<Options>();
  options->server = "127.0.0.1:7700";
  CLI::App* command = app.add_subcommand(
      "feed",
      "Post the cues of a caption file to a server as voice notes (token in STONECALL_TOKEN)");
  command->add_option("captions", options->captions, "WebVTT (.vtt) or SubRip (.srt)")->required();
  command
      ->add_option("--start", options->start,
                   "when the recording began, as 2027-05-18T09:00:00+02:00")
      ->required();
  command->add_option("--server", options->server, "address of the server, as host:port")
      ->capture_default_str();
  command->add_option("--offset", options->offset_seconds,
                      "seconds by which the recorder's clock was slow; negative: fast");
  command->add_option("--from", options->from, "who speaks where a cue does not say")
      ->capture_default_str();
  command->add_option("--voice", options->named,
                      "TAG=NAME: post what the voice TAG says as from NAME; may be given again");
  command->add_option("--source", options->source,
                      "what the notes' ids are made from besides the cue; without it the file's "
                      "name. Give another where another day's file has the same name");
  command->add_flag("--follow", options->follow,
                    "go on as the file grows, or from the beginning of one put in its place, until "
                    "interrupted; a file that is not there yet is waited for");
  command
      ->add_option("--patience", options->patience_seconds,
                   "seconds to wait for a server that does not answer (with --follow: after the "
                   "interrupt)")
      ->check(CLI::Range(0, 86'400))
      ->capture_default_str();
  command->footer(
      "Feeding a file again stores nothing twice. Broken cues are named by line and skipped.\n"
      "A cue is posted once the empty line behind it, or the next cue, is in the file.\n"
      "Exit code: 0 all stored, 1 some skipped or refused, 2 wrong use, 3 the server did not take "
      "all.\n"
      "Example: stonecall feed loop.vtt --follow --start 2027-05-18T09:00:00+02:00 --offset -1.5");
  command->callback([options, &exit_code] {
    if (!take_named("--voice", "TAG=NAME", options->named, options->voices, std::cerr)) {
      exit_code = 2;
      return;
    }
    if (const char* token = std::getenv("STONECALL_TOKEN")) options->token = token;
    exit_code = feed_until_signal(*options);
  });
}

}  // namespace stonecall::commands
