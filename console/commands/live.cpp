#include <cstdlib>
#include <iostream>

#include "console/commands/desk_options.hpp"
#include "console/commands/subcommand.hpp"
#include "console/desk/live_source.hpp"

namespace stonecall::commands {
namespace {

namespace fs = std::filesystem;

struct LiveOptions : DeskOptions {
  std::string server = "127.0.0.1:8480";
};

/// XDG Base Directory Specification: state that outlives a run but is no
/// setting.
fs::path unsent_file() {
  if (const char* state = std::getenv("XDG_STATE_HOME"); state && *state == '/')
    return fs::path(state) / "stonecall" / "unsent.jsonl";
  if (const char* home = std::getenv("HOME"); home && *home)
    return fs::path(home) / ".local" / "state" / "stonecall" / "unsent.jsonl";
  return {};
}

int live(const LiveOptions& options) {
  auto address = protocol::parse_server_address(options.server);
  if (!address) {
    std::cerr << "stonecall: --server: " << address.error().what << '\n';
    return 2;
  }
  desk::LiveSetup setup{*address, "", options.server, unsent_file()};
  // Not on the command line, where other users of the machine could read it.
  if (const char* token = std::getenv("STONECALL_TOKEN")) setup.token = token;
  return sit_at(options, [&](desk::Source::Wake wake) {
    return std::make_unique<desk::LiveSource>(std::move(setup), workers(), std::move(wake));
  });
}

}  // namespace

void add_live(CLI::App& app, int& exit_code) {
  auto options = std::make_shared<LiveOptions>();
  CLI::App* command = app.add_subcommand("live",
                                         "Open the desk on a server during an exercise "
                                         "(token in STONECALL_TOKEN)");
  command->add_option("--server", options->server, "address of the server, as host:port")
      ->capture_default_str();
  add_desk_options(*command, *options);
  command->callback([options, &exit_code] { exit_code = live(*options); });
}

}  // namespace stonecall::commands
