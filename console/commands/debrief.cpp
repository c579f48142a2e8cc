#include "console/commands/debrief.hpp"

#include <filesystem>
#include <optional>
#include <ostream>

#include "console/commands/waiting.hpp"
#include "console/commands/write_file.hpp"
#include "console/debrief/look_back.hpp"
#include "console/debrief/report.hpp"
#include "console/debrief/samples_file.hpp"
#include "console/debrief/side_by_side.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"

namespace stonecall::commands {
namespace {

/// What can be read of a log; none: nothing, and why is said on `err`.
std::optional<debrief::Material> read(const std::string& path, Waiting& waiting,
                                      std::ostream& err) {
  std::error_code unknown;
  const auto size = std::filesystem::file_size(path, unknown);
  auto log = protocol::read_log_file(path, [&](std::size_t bytes) {
    waiting.at("reading the log", bytes, unknown ? 0 : static_cast<std::size_t>(size));
  });
  if (!log) {
    err << "stonecall: " << protocol::to_string(log.error()) << '\n';
    return std::nullopt;
  }
  for (const auto& fault : log->faults)
    err << "stonecall: " << path << ": " << protocol::to_string(fault) << '\n';
  if (log->events.empty()) {
    err << "stonecall: no event could be read from " << path << '\n';
    return std::nullopt;
  }
  return debrief::Material{std::filesystem::path(path).filename().string(), std::move(log->events),
                           std::move(log->faults)};
}

}  // namespace

int debrief(const DebriefFiles& files, std::ostream& err) {
  if (!spares({files.report, files.csv, files.geojson}, {files.log, files.beside}, err)) return 2;
  Waiting waiting(err);
  const auto look_back = [&](const debrief::Material& material) {
    return debrief::look_back(material, [&](std::size_t done, std::size_t of) {
      waiting.at("looking back on the calls", done, of);
    });
  };
  const auto material = read(files.log, waiting, err);
  if (!material) return 2;

  bool written = true;
  picture::PicturePtr picture;
  if (files.report.empty()) {
    picture = picture::fold(material->events);
  } else {
    const auto back = look_back(*material);
    picture = back.picture;
    if (files.beside.empty()) {
      written = write_file(files.report, debrief::report(back), err);
    } else {
      const auto other = read(files.beside, waiting, err);
      if (!other) return 2;
      const auto page = debrief::side_by_side(back, look_back(*other));
      if (!page) {
        err << "stonecall: not two runs of one plan: " << page.error().what << '\n';
        return 2;
      }
      written = write_file(files.report, *page, err);
    }
  }
  if (!files.csv.empty()) written &= write_file(files.csv, debrief::samples_csv(*picture), err);
  if (!files.geojson.empty())
    written &= write_file(files.geojson, debrief::samples_geojson(*picture), err);
  return written ? 0 : 2;
}

}  // namespace stonecall::commands
