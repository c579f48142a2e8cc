#include <csignal>
#include <fstream>
#include <iostream>
#include <iterator>
#include <memory>
#include <string>
#include <tuple>

#include <CLI/CLI.hpp>
#include <pthread.h>
#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/stdout_color_sinks.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>
#include <sys/resource.h>

#include "protocol/log.hpp"
#include "protocol/time.hpp"
#include "server/archive.hpp"
#include "server/server.hpp"

namespace {

using namespace stonecall;

constexpr int wrong_use = 2;

constexpr const char* examples = R"(Examples:
  stonecall-server --store ridge.store --listen 127.0.0.1:7700
      takes events and keeps them in ridge.store
  stonecall-server --store debrief.store --play ridge.jsonl --speed 30 --play-wait
      plays a recorded log thirty times as fast, once the first desk follows
  curl -H 'Content-Type: application/json' -d '{"paused": true}' http://127.0.0.1:7700/play
      pauses it; "speed" changes its pace, {"to": "1:30"} leaps ahead
  stonecall-server --store ridge.store --backup-to ridge-0915.store
      copies the store as it stands, while a server writes to it
  stonecall-server --store ridge.store --export-to ridge.jsonl
      writes its events as JSON Lines; --import-from takes such a log into a store
  curl -H 'Content-Type: application/json' -d @event.json http://127.0.0.1:7700/events
      posts an event; it is on disk when the answer comes
The first line of standard output is the address; everything else goes to standard error.)";

int complain(const std::string& what) {
  std::cerr << "stonecall-server: " << what << '\n';
  return wrong_use;
}

struct Arguments {
  server::ServerOptions server;
  std::string store;
  std::string listen = "127.0.0.1:0";
  std::string tokens;
  std::string backup_to;
  std::string export_to;
  std::string import_from;
  std::string play;
  std::string play_from;
  std::string play_until;
  bool verbose = false;
  bool json_log = false;
};

/// Splits "127.0.0.1:7700" and "[::1]:7700".
bool read_listen(const std::string& text, server::ServerOptions& options) {
  const std::size_t colon = text.rfind(':');
  if (colon == std::string::npos || colon == 0) return false;
  std::string host = text.substr(0, colon);
  if (host.front() == '[' && host.back() == ']') host = host.substr(1, host.size() - 2);
  std::uint16_t port = 0;
  if (!CLI::detail::lexical_cast(text.substr(colon + 1), port)) return false;
  options.address = host;
  options.port = port;
  return true;
}

std::optional<std::string> read_whole(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  // A folder opens, and cannot be read.
  if (!in || (in.peek(), in.bad())) return std::nullopt;
  in.clear();  // an empty file is one
  return std::string(std::istreambuf_iterator<char>(in), {});
}

/// The message of a line of the log as a JSON string.
class JsonMessage : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& message, const std::tm&,
              spdlog::memory_buf_t& to) override {
    using protocol::Json;
    const Json text = std::string(message.payload.data(), message.payload.size());
    const std::string quoted = text.dump(-1, ' ', false, Json::error_handler_t::replace);
    to.append(quoted.data(), quoted.data() + quoted.size());
  }
  std::unique_ptr<custom_flag_formatter> clone() const override {
    return std::make_unique<JsonMessage>();
  }
};

/// Everything but the address goes to standard error.
void begin_log(bool as_json, bool verbose) {
  spdlog::set_default_logger(spdlog::stderr_color_mt("stonecall-server"));
  if (as_json) {
    auto lines = std::make_unique<spdlog::pattern_formatter>();
    lines->add_flag<JsonMessage>('*').set_pattern(
        R"({"time":"%Y-%m-%dT%H:%M:%S.%e%z","level":"%l","message":%*})");
    spdlog::set_formatter(std::move(lines));
  } else {
    spdlog::set_pattern("%Y-%m-%dT%H:%M:%S.%e%z %l %v");
  }
  if (verbose) spdlog::set_level(spdlog::level::debug);
}

/// Each connection is an open file; the usual soft limit of 1024 is below what we serve.
void allow_many_files() {
  rlimit files{};
  if (::getrlimit(RLIMIT_NOFILE, &files) != 0) return;
  files.rlim_cur = files.rlim_max;
  ::setrlimit(RLIMIT_NOFILE, &files);
}

/// What is done at once and without serving; empty if none of it was asked for.
std::optional<server::Copied> copied(const Arguments& arguments) {
  if (!arguments.backup_to.empty()) return server::back_up(arguments.store, arguments.backup_to);
  if (!arguments.export_to.empty()) return server::export_log(arguments.store, arguments.export_to);
  if (!arguments.import_from.empty())
    return server::import_log(arguments.import_from, arguments.store);
  return std::nullopt;
}

int run(Arguments& arguments) {
  // All threads inherit this; the signals are then taken by sigwait below and nowhere else.
  sigset_t stop_signals;
  sigemptyset(&stop_signals);
  sigaddset(&stop_signals, SIGINT);
  sigaddset(&stop_signals, SIGTERM);
  pthread_sigmask(SIG_BLOCK, &stop_signals, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);  // a file-size limit is a full disk to answer, not a death
  allow_many_files();

  if (!arguments.play.empty()) {
    auto read = protocol::read_log_file(arguments.play);
    if (!read) return complain(arguments.play + ": " + to_string(read.error()));
    for (const auto& fault : read->faults) spdlog::warn("{}: {}", arguments.play, to_string(fault));
    if (read->events.empty()) return complain(arguments.play + ": no event in it");
    arguments.server.log = std::move(read->events);
  }

  auto started = server::Server::start(std::move(arguments.server));
  if (!started) return complain(started.error());
  server::Server& server = **started;
  std::cout << server.address() << std::endl;
  spdlog::info("server: listening on {}, {} events in the store", server.address(),
               server.store().newest());

  int signal = 0;
  sigwait(&stop_signals, &signal);
  spdlog::info("server: {}; finishing what was begun",
               signal == SIGINT ? "interrupted" : "asked to end");
  // A second signal ends the program at once; what was acknowledged is on disk.
  pthread_sigmask(SIG_UNBLOCK, &stop_signals, nullptr);
  server.stop();
  spdlog::info("server: ended");
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  // SQLite's count of its memory, which nobody asks for, takes a lock at each allocation.
  sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
  Arguments arguments;
  CLI::App app{"Keeps an exercise's events on disk and hands them to every desk in one order."};
  app.footer(examples);
  app.option_defaults()->take_last();
  app.add_option("--store", arguments.store, "The event store, a file; made if it is not there")
      ->required();
  app.add_option("--listen", arguments.listen, "ADDRESS:PORT; port 0 picks a free one")
      ->capture_default_str();
  app.add_option("--tokens", arguments.tokens,
                 "A file of lines 'field TOKEN', 'adviser TOKEN' or 'observer TOKEN'; without it "
                 "only a loopback "
                 "address is listened on, and all may do all");
  auto* certificate = app.add_option("--certificate", arguments.server.certificate,
                                     "Speak TLS only, with this certificate and its chain (PEM)");
  auto* key = app.add_option("--key", arguments.server.key, "The certificate's private key (PEM)");
  certificate->needs(key);
  key->needs(certificate);
  app.add_option("--rate", arguments.server.requests_per_second,
                 "Requests and live posts that one address may make a second; twice as many at "
                 "once; 0: no limit")
      ->check(CLI::Range(0.0, 1e9))
      ->default_val(2'000.0);
  app.add_option("--threads", arguments.server.threads, "Threads for the network")
      ->check(CLI::Range(1, 64))
      ->capture_default_str();
  auto* backup = app.add_option("--backup-to", arguments.backup_to,
                                "Copy the store to this new file and end; a server may write to it "
                                "meanwhile");
  auto* exported = app.add_option("--export-to", arguments.export_to,
                                  "Write the events to this new file as JSON Lines and end; a "
                                  "server may write meanwhile");
  auto* imported = app.add_option(
      "--import-from", arguments.import_from,
      "Take a log (JSON Lines) into the store and end; no server may use it meanwhile");
  auto* play = app.add_option("--play", arguments.play,
                              "Play a recorded log (JSON Lines) as if it were live");
  app.add_option("--speed", arguments.server.play.speed, "How many times as fast the log is played")
      ->check(CLI::Range(0.01, 100'000.0))
      ->needs(play)
      ->capture_default_str();
  app.add_option("--play-from", arguments.play_from,
                 "Elapsed time to play from, as 1:12 or 1:12:40; what came before is there at once")
      ->needs(play);
  app.add_option("--play-until", arguments.play_until,
                 "Elapsed time until which the clock keeps that pace, also past the log's end")
      ->needs(play);
  app.add_flag("--play-wait", arguments.server.play.wait, "Begin once the first desk follows")
      ->needs(play);
  app.add_flag("--play-unseen", arguments.server.play.unseen,
               "For practice: do not tell how much is still to come, and let nobody hurry on")
      ->needs(play);
  for (auto* one : {backup, exported, imported, play}) {
    for (auto* other : {backup, exported, imported, play})
      if (one != other) one->excludes(other);
  }
  // Of a script whose variable is not set: that nothing was meant is not for us to say.
  const CLI::Validator named(
      [](const std::string& text) { return std::string(text.empty() ? "is empty" : ""); }, "");
  for (const char* file :
       {"--store", "--listen", "--tokens", "--certificate", "--key", "--backup-to", "--export-to",
        "--import-from", "--play", "--play-from", "--play-until"})
    app.get_option(file)->check(named);
  app.add_flag("--verbose", arguments.verbose, "Log what happens to each connection");
  app.add_flag("--json-log", arguments.json_log,
               "Log as JSON Lines (time, level, message) instead of as text");
  CLI11_PARSE(app, argc, argv);
  begin_log(arguments.json_log, arguments.verbose);

  if (const auto copy = copied(arguments)) {
    if (!*copy) return complain(copy->error());
    std::cout << **copy << " events" << std::endl;
    return 0;
  }

  arguments.server.store = arguments.store;
  if (!read_listen(arguments.listen, arguments.server)) {
    return complain("--listen: expected ADDRESS:PORT, as 127.0.0.1:7700 or [::1]:7700");
  }
  if (!arguments.tokens.empty()) {
    const auto text = read_whole(arguments.tokens);
    if (!text) return complain(arguments.tokens + ": cannot be read");
    auto access = server::Access::parse(*text);
    if (!access) return complain(arguments.tokens + ": " + to_string(access.error()));
    arguments.server.access = std::move(*access);
  }
  for (const auto& [name, text, into] :
       {std::tuple{"--play-from: ", &arguments.play_from, &arguments.server.play.from},
        std::tuple{"--play-until: ", &arguments.play_until, &arguments.server.play.until}}) {
    if (text->empty()) continue;
    const auto elapsed = protocol::parse_elapsed(*text);
    if (!elapsed) return complain(name + to_string(elapsed.error()));
    *into = *elapsed;
  }
  return run(arguments);
}
