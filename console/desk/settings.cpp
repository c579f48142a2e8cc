#include "console/desk/settings.hpp"

#include <cstdint>
#include <cstdlib>
#include <fstream>

#include <nlohmann/json.hpp>

namespace stonecall::desk {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

std::string_view words(TimeMode mode) {
  return mode == TimeMode::elapsed ? "elapsed" : mode == TimeMode::local ? "local" : "utc";
}

template <class T>
T member(const json& in, const char* name, T otherwise) {
  auto found = in.find(name);
  if (found == in.end()) return otherwise;
  if constexpr (std::is_same_v<T, std::string>)
    return found->is_string() ? found->get<std::string>() : otherwise;
  else
    return found->is_number_integer() ? found->get<T>() : otherwise;
}

/// A whole number of the file, as it stands there: one that no int holds is not cut down to one.
int within(const json& in, const char* name, int least, int most, int otherwise) {
  const auto value = member<std::int64_t>(in, name, otherwise);
  return value >= least && value <= most ? static_cast<int>(value) : otherwise;
}

bool is_on(const json& in, const char* name) {
  return member<std::int64_t>(in, name, 0) == 1;
}

}  // namespace

fs::path settings_file() {
  if (const char* config = std::getenv("XDG_CONFIG_HOME"); config && *config == '/')
    return fs::path(config) / "stonecall" / "desk.json";
  if (const char* home = std::getenv("HOME"); home && *home)
    return fs::path(home) / ".config" / "stonecall" / "desk.json";
  return {};
}

Settings load_settings(const fs::path& file) {
  const Settings otherwise;
  if (file.empty()) return otherwise;
  std::ifstream in(file);
  if (!in) return otherwise;
  json read = json::parse(in, nullptr, false);
  if (read.is_discarded() || !read.is_object()) {
    in.close();
    std::error_code ignored;  // the defaults serve, whether or not it could be moved
    fs::path aside = file;
    fs::rename(file, aside += ".broken", ignored);
    return otherwise;
  }
  Settings s;
  s.theme = theme_named(member<std::string>(read, "theme", "paper")).value_or(otherwise.theme);
  s.scale_percent = within(read, "scale_percent", 80, 200, otherwise.scale_percent);
  std::string time = member<std::string>(read, "time", "elapsed");
  for (TimeMode mode : {TimeMode::elapsed, TimeMode::local, TimeMode::utc})
    if (time == words(mode)) s.time_mode = mode;
  s.width = within(read, "width", 640, 16384, otherwise.width);
  s.height = within(read, "height", 400, 16384, otherwise.height);
  s.filter.show =
      static_cast<HeardFilter::Show>(within(read, "show", 0, HeardFilter::kinds - 1, 0));
  s.accept_sure = is_on(read, "accept_sure");
  s.kinds_whole = is_on(read, "kinds_whole");
  s.kinds_all = is_on(read, "kinds_all");
  s.filter.speaker = member<std::string>(read, "speaker", "");
  s.filter.station = member<std::string>(read, "station", "");
  s.draft = member<std::string>(read, "draft", "");
  s.draft_of = member<std::string>(read, "draft_of", "");
  return s;
}

protocol::Result<void> save_settings(const Settings& s, const fs::path& file) {
  if (file.empty()) return {};
  auto fault = [&](const std::string& what) {
    return tl::unexpected(protocol::Fault{file.string(), what, std::nullopt});
  };
  std::error_code error;
  fs::create_directories(file.parent_path(), error);
  if (error) return fault("its folder cannot be made: " + error.message());
  json out{{"theme", to_string(s.theme)},
           {"scale_percent", s.scale_percent},
           {"time", words(s.time_mode)},
           {"width", s.width},
           {"height", s.height},
           {"show", static_cast<int>(s.filter.show)},
           {"speaker", s.filter.speaker},
           {"station", s.filter.station},
           {"kinds_whole", s.kinds_whole ? 1 : 0},
           {"kinds_all", s.kinds_all ? 1 : 0},
           {"accept_sure", s.accept_sure ? 1 : 0},
           {"draft", s.draft},
           {"draft_of", s.draft_of}};
  fs::path half = file;
  half += ".new";
  {
    std::ofstream to(half, std::ios::trunc);
    // A draft may hold bytes that are no UTF-8.
    to << out.dump(2, ' ', false, json::error_handler_t::replace) << '\n';
    if (!to.flush()) return fault("cannot be written");
  }
  fs::rename(half, file, error);
  if (error) return fault("cannot be put in place: " + error.message());
  return {};
}

}  // namespace stonecall::desk
