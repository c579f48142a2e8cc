#include "console/commands/desk_options.hpp"

#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <iostream>

#include <fmt/format.h>

#include "console/advise/assessment.hpp"
#include "console/commands/speech.hpp"
#include "console/desk/settings.hpp"
#include "protocol/event.hpp"

namespace stonecall::commands {
namespace {

volatile std::sig_atomic_t asked_to_leave = 0;

/// A desk that is interrupted, or whose terminal is closed, is left as by its key: practice then
/// still writes its record. Asked twice, the program ends at once.
void leave_when_asked() {
  struct sigaction action = {};
  action.sa_handler = [](int) { asked_to_leave = 1; };
  action.sa_flags = static_cast<int>(SA_RESETHAND);
  for (const int number : {SIGINT, SIGTERM, SIGHUP}) ::sigaction(number, &action, nullptr);
}

int failed(const protocol::Fault& fault) {
  std::cerr << "stonecall: " << protocol::to_string(fault) << '\n';
  return 2;
}

}  // namespace

std::filesystem::path state_folder() {
  namespace fs = std::filesystem;
  if (const char* state = std::getenv("XDG_STATE_HOME"); state && *state == '/')
    return fs::path(state) / "stonecall";
  if (const char* home = std::getenv("HOME"); home && *home)
    return fs::path(home) / ".local" / "state" / "stonecall";
  return {};
}

void add_desk_options(CLI::App& command, DeskOptions& options) {
  command.add_option("--theme", options.theme, "paper, night or contrast")
      ->check(CLI::IsMember({"paper", "night", "contrast"}));
  command.add_option("--scale", options.scale, "size of type in percent")
      ->check(CLI::Range(80, 200));
  command.add_option("--size", options.size, "width and height of the window, as 1600x900");
  command.add_option("--name", options.name, "your name, under which you post")
      ->check([](const std::string& name) {
        // The server would refuse all that is posted under another.
        if (!name.empty() && name.size() <= protocol::Limits::name_bytes) return std::string();
        return fmt::format("a name has 1 to {} bytes", protocol::Limits::name_bytes);
      })
      ->capture_default_str();
}

protocol::Result<desk::Settings> settings_for(const DeskOptions& options) {
  desk::Settings settings = desk::load_settings(desk::settings_file());
  if (!options.theme.empty()) settings.theme = *desk::theme_named(options.theme);
  if (options.scale != 0) settings.scale_percent = options.scale;
  if (!options.size.empty()) {
    int width = 0, height = 0;
    char rest = 0;
    bool read = std::sscanf(options.size.c_str(), "%dx%d%c", &width, &height, &rest) == 2;
    if (!read || width < 320 || height < 240 || width > 16384 || height > 16384)
      return tl::unexpected(protocol::Fault{
          "--size", "expected width x height between 320x240 and 16384x16384, as 1600x900",
          std::nullopt});
    settings.width = width;
    settings.height = height;
  }
  return settings;
}

namespace {

std::vector<desk::Proposal> proposals(std::string_view text, const picture::PicturePtr& picture,
                                      protocol::Instant now) {
  static const Speech speech;
  std::vector<desk::Proposal> all;
  for (auto& each : speech.read(text, picture, now))
    all.push_back({each.words, std::move(each.fact), each.sureness, std::move(each.also),
                   std::move(each.also_amends)});
  return all;
}

}  // namespace

desk::Workers workers() {
  desk::Workers workers;
  workers.assess = [](const picture::Picture& picture, protocol::Instant now,
                      advise::Memory& memory) {
    return std::make_shared<const advise::Assessment>(
        advise::assess_with_advice(picture, now, memory));
  };
  workers.read_note = [](const protocol::Event& event, const picture::PicturePtr& picture) {
    // What the back room says is no fact about the ground.
    if (!picture::is_word_of_field(*picture, event)) return std::vector<desk::Proposal>{};
    return proposals(std::get<protocol::VoiceNote>(event.body).text, picture, event.at.instant);
  };
  return workers;
}

desk::ReadSpeech read_speech() {
  return [](std::string_view text, const desk::View& view) {
    return proposals(text, view.picture, view.now);
  };
}

int sit_at(const DeskOptions& options,
           const std::function<std::unique_ptr<desk::Source>(desk::Source::Wake)>& open) {
  auto settings = settings_for(options);
  if (!settings) return failed(settings.error());
  // That nothing can be written there is told once, at the end.
  const auto keep = [](const desk::Settings& now) {
    const auto kept = desk::save_settings(now, desk::settings_file());
    static_cast<void>(kept);
  };
  leave_when_asked();
  auto left = desk::run(*settings, open, read_speech(),
                        {options.name, [] { return asked_to_leave != 0; }}, keep);
  if (!left) return failed(left.error());
  if (auto kept = desk::save_settings(*left, desk::settings_file()); !kept)
    std::cerr << "stonecall: " << protocol::to_string(kept.error()) << '\n';
  return 0;
}

int write_screenshot(const DeskOptions& options, const desk::View& view) {
  auto settings = settings_for(options);
  if (!settings) return failed(settings.error());
  desk::Desk desk;
  desk.settings = *settings;
  auto image = desk::screenshot(desk, view, read_speech());
  if (!image) return failed(image.error());
  if (auto written = desk::write_png(*image, options.screenshot); !written)
    return failed(written.error());
  return 0;
}

}  // namespace stonecall::commands
