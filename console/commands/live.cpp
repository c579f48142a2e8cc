#include <chrono>
#include <condition_variable>
#include <cstdlib>
#include <iostream>
#include <mutex>

#include "console/commands/desk_options.hpp"
#include "console/commands/read_file.hpp"
#include "console/commands/subcommand.hpp"
#include "console/desk/live_source.hpp"
#include "console/desk/numbers_age.hpp"
#include "protocol/plan_file.hpp"

namespace stonecall::commands {
namespace {

namespace fs = std::filesystem;

struct LiveOptions : DeskOptions {
  std::string server = "127.0.0.1:7700";
  std::vector<std::string> screenshots;
  std::vector<std::string> times;  ///< elapsed, one for each screenshot, ascending
  std::string plan;                ///< file
};

/// Lets another thread's news end a wait.
class News {
 public:
  void tell() {
    {
      const std::scoped_lock lock(mutex_);
      told_ = true;
    }
    changed_.notify_one();
  }
  /// Returns after news, or after a second without.
  void wait() {
    std::unique_lock lock(mutex_);
    changed_.wait_for(lock, std::chrono::seconds(1), [&] { return told_; });
    told_ = false;
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  bool told_ = false;
};

/// The view once the exercise has come so far; why not, where it does not get there.
protocol::Result<std::shared_ptr<const desk::View>> view_at(const desk::Source& source, News& news,
                                                            protocol::Milliseconds elapsed) {
  constexpr auto patience = std::chrono::seconds(20);  // without the exercise's clock moving on
  protocol::Instant last{};
  auto moved = std::chrono::steady_clock::now();
  while (true) {
    auto view = source.view();
    const bool planned = view->plan() != nullptr;
    if (planned && view->assessment && !desk::outdated(*view) &&
        view->assessment->now - picture::start_of(*view->picture) >= elapsed)
      return view;
    if (view->now != last && view->link.kind == desk::LinkState::Kind::connected) {
      last = view->now;
      moved = std::chrono::steady_clock::now();
    }
    if (std::chrono::steady_clock::now() - moved > patience) {
      return tl::unexpected(protocol::Fault{
          "--at",
          "the exercise does not come to " + protocol::elapsed_text(elapsed) +
              (planned ? "; it stands at " +
                             protocol::elapsed_text(view->now - picture::start_of(*view->picture))
                       : std::string("; no plan has been heard from the server")),
          std::nullopt});
    }
    news.wait();
  }
}

/// Follows the exercise without a window on the screen and writes a picture at each of the times.
int write_screenshots(const LiveOptions& options, desk::LiveSetup setup) {
  std::vector<protocol::Milliseconds> times;
  for (const auto& text : options.times) {
    const auto time = protocol::parse_elapsed(text);
    if (!time) {
      std::cerr << "stonecall: --at: " << time.error().what << '\n';
      return 2;
    }
    times.push_back(*time);
  }
  if (times.size() != options.screenshots.size()) {
    std::cerr << "stonecall: give one --at for each --screenshot\n";
    return 2;
  }
  News news;
  desk::LiveSource source(std::move(setup), workers(), [&news] { news.tell(); });
  for (std::size_t i = 0; i < times.size(); ++i) {
    const auto view = view_at(source, news, times[i]);
    if (!view) {
      std::cerr << "stonecall: " << protocol::to_string(view.error()) << '\n';
      return 1;
    }
    DeskOptions shot = options;
    shot.screenshot = options.screenshots[i];
    if (const int failed = write_screenshot(shot, **view)) return failed;
    std::cout << "wrote " << shot.screenshot << " at " << options.times[i] << std::endl;
  }
  return 0;
}

/// The plan of a file; none where it can not be had, all that is wrong with it then told by line.
std::optional<protocol::Plan> plan_in(const std::string& path) {
  const auto text = read_file(path);
  if (!text) {
    std::cerr << "stonecall: " << protocol::to_string(text.error()) << '\n';
    return std::nullopt;
  }
  auto read = protocol::read_plan(*text);
  for (const auto& list : {read.faults, read.unheeded})
    for (const protocol::Fault& fault : list)
      std::cerr << "stonecall: " << path << ": " << protocol::to_string(fault) << '\n';
  return std::move(read.plan);
}

int live(const LiveOptions& options) {
  auto address = protocol::parse_server_address(options.server);
  if (!address) {
    std::cerr << "stonecall: --server: " << address.error().what << '\n';
    return 2;
  }
  const fs::path folder = state_folder();
  desk::LiveSetup setup{*address, "", options.server, desk::kept_file(folder, *address)};
  if (!folder.empty()) setup.unsent_before = folder / "unsent.jsonl";
  setup.name = options.name;
  if (!options.plan.empty()) {
    setup.plan = plan_in(options.plan);
    if (!setup.plan) return 2;
  }
  // Not on the command line, where other users of the machine could read it.
  if (const char* token = std::getenv("STONECALL_TOKEN")) setup.token = token;
  if (!options.screenshots.empty()) return write_screenshots(options, std::move(setup));
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
  command->add_option("--plan", options->plan,
                      "plan (JSON) to give to the exercise where the server has none yet");
  command->add_option(
      "--screenshot", options->screenshots,
      "write a PNG instead of opening the desk; may be given again for a later time");
  command->add_option("--at", options->times, "elapsed time of each screenshot, as 1:12");
  add_desk_options(*command, *options);
  command->callback([options, &exit_code] { exit_code = live(*options); });
}

}  // namespace stonecall::commands
