#include <chrono>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <thread>

#include <boost/process.hpp>
#include <boost/process/extend.hpp>
#include <date/date.h>
#include <sys/prctl.h>

#include "console/commands/desk_options.hpp"
#include "console/commands/score.hpp"
#include "console/commands/subcommand.hpp"
#include "console/commands/write_file.hpp"
#include "console/desk/live_source.hpp"
#include "protocol/client.hpp"
#include "protocol/log.hpp"

// Practice is the real thing: the server plays the log, the desk follows it live. What has not been
// played is not on the desk, in its search or on its ruler, since the desk never had it.
namespace stonecall::commands {
namespace {

namespace fs = std::filesystem;
namespace process = boost::process;

struct PracticeOptions : DeskOptions {
  std::string log;
  std::string from = "0:00";
  double speed = 1;
  std::string server_program;
};

fs::path practice_folder() {
  const fs::path folder = state_folder();
  return folder.empty() ? folder : folder / "practice";
}

/// Beside this program, where the build or an installation puts it, else on the path.
fs::path server_program(const std::string& said) {
  if (!said.empty()) return said;
  std::error_code error;
  const fs::path here = fs::read_symlink("/proc/self/exe", error).parent_path();
  for (const fs::path& place :
       {here / "stonecall-server", here.parent_path() / "server" / "stonecall-server"}) {
    if (fs::is_regular_file(place, error)) return place;
  }
  return process::search_path("stonecall-server").native();
}

/// The server ends with this program, however this program ends.
struct EndTogether : process::extend::handler {
  template <class Executor>
  void on_exec_setup(Executor&) const {
    ::prctl(PR_SET_PDEATHSIG, SIGTERM);
  }
};

class PlayingServer {
 public:
  PlayingServer(const fs::path& program, const fs::path& store, const PracticeOptions& options) {
    child_ = process::child(program.string(), "--store", store.string(), "--listen", "127.0.0.1:0",
                            "--play", options.log, "--speed", std::to_string(options.speed),
                            "--play-from", options.from, "--play-wait", process::std_out > out_,
                            process::std_err > process::null, EndTogether{}, error_);
    if (!error_) std::getline(out_, address_);
  }
  ~PlayingServer() {
    if (!child_.running(error_)) return;
    ::kill(child_.id(), SIGTERM);
    child_.wait(error_);
  }
  PlayingServer(const PlayingServer&) = delete;
  PlayingServer& operator=(const PlayingServer&) = delete;

  /// Empty: it did not start.
  const std::string& address() const { return address_; }

 private:
  process::ipstream out_;
  std::error_code error_;
  process::child child_;
  std::string address_;
};

/// All that stands at the server and came from `sender`, as lines.
std::string events_of(const protocol::ServerAddress& server, const std::string& sender) {
  protocol::ClientOptions options;
  options.server = server;
  protocol::Client client(std::move(options));
  std::string lines;
  std::uint64_t read = 0;
  const auto deadline = std::chrono::steady_clock::now() + std::chrono::seconds(30);
  while (std::chrono::steady_clock::now() < deadline) {
    for (const auto& event : client.take().events) {
      read = *event->seq;
      if (event->from == sender) lines += protocol::to_line(*event) + '\n';
    }
    const auto link = client.link();
    if (link.phase == protocol::LinkState::Phase::live && read >= link.newest_seq) break;
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  }
  return lines;
}

bool already_speaks(const protocol::Log& log, const std::string& name) {
  return std::ranges::any_of(log.events, [&](const auto& event) { return event->from == name; });
}

int practice(PracticeOptions options) {
  const auto complain = [](const std::string& what) {
    std::cerr << "stonecall: practice: " << what << '\n';
    return 2;
  };
  const auto log = protocol::read_log_file(options.log);
  if (!log) return complain(protocol::to_string(log.error()));
  if (log->events.empty()) return complain("no event could be read from " + options.log);
  if (already_speaks(*log, options.name))
    return complain(options.name +
                    " speaks in the log; take another --name, so that your calls can "
                    "be told apart");
  const fs::path program = server_program(options.server_program);
  if (program.empty())
    return complain("stonecall-server was not found; say where it is with --server-program");
  const fs::path folder = practice_folder();
  std::error_code error;
  if (!folder.empty()) fs::create_directories(folder, error);
  if (folder.empty() || error)
    return complain("no folder to keep the record in; set XDG_STATE_HOME or HOME");

  const auto now = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
  const std::string run = date::format("%Y-%m-%d-%H%M%S", now) + "-" + options.name;
  const fs::path store = folder / (run + ".store");
  const fs::path record = folder / (run + ".record.jsonl");
  int left_with = 0;
  {
    const PlayingServer server(program, store, options);
    const auto address = protocol::parse_server_address(server.address());
    if (!address) return complain("the server did not start; try it by hand: " + program.string());
    desk::LiveSetup setup{*address, "", server.address(), (folder / (run + ".unsent")).string()};
    left_with = sit_at(options, [&](desk::Source::Wake wake) {
      return std::make_unique<desk::LiveSource>(std::move(setup), workers(), std::move(wake));
    });
    if (!write_file(record.string(), events_of(*address, options.name), std::cerr)) return 2;
  }
  for (const char* part : {"", "-wal", "-shm"}) fs::remove(store.string() + part, error);
  if (left_with != 0) return left_with;
  std::cout << "your calls are in " << record.string() << '\n';
  return score({options.log,
                record.string(),
                options.name,
                (folder / run).string() + ".html",
                (folder / "runs.jsonl").string(),
                run,
                {},
                {}},
               std::cout, std::cerr);
}

}  // namespace

void add_practice(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<PracticeOptions>();
  CLI::App* command = app.add_subcommand(
      "practice", "Advise on a recorded exercise as if it were live, and be scored at the end");
  command->add_option("log", options->log, "recorded log (JSON Lines)")->required();
  command->add_option("--speed", options->speed, "times as fast as it happened")
      ->check(CLI::Range(0.1, 600.0))
      ->capture_default_str();
  command
      ->add_option("--from", options->from, "elapsed time to begin at; what came before is there")
      ->capture_default_str();
  command->add_option("--server-program", options->server_program,
                      "where stonecall-server is; without it beside this program or on the path");
  add_desk_options(*command, *options);
  command->footer("Example: stonecall practice replay_logs/varrow_rim.jsonl --name WREN --speed 4");
  command->callback([options, &exit_code] { exit_code = practice(*options); });
}

}  // namespace stonecall::commands
