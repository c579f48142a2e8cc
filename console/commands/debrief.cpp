#include "console/commands/debrief.hpp"

#include <filesystem>
#include <ostream>

#include "console/commands/waiting.hpp"
#include "console/commands/write_file.hpp"
#include "console/debrief/look_back.hpp"
#include "console/debrief/report.hpp"
#include "console/debrief/samples_file.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"

namespace stonecall::commands {

int debrief(const DebriefFiles& files, std::ostream& err) {
  Waiting waiting(err);
  std::error_code unknown;
  const auto size = std::filesystem::file_size(files.log, unknown);
  auto log = protocol::read_log_file(files.log, [&](std::size_t bytes) {
    waiting.at("reading the log", bytes, unknown ? 0 : static_cast<std::size_t>(size));
  });
  if (!log) {
    err << "stonecall: " << protocol::to_string(log.error()) << '\n';
    return 2;
  }
  for (const auto& fault : log->faults)
    err << "stonecall: " << files.log << ": " << protocol::to_string(fault) << '\n';
  if (log->events.empty()) {
    err << "stonecall: no event could be read from " << files.log << '\n';
    return 2;
  }

  bool written = true;
  picture::PicturePtr picture;
  if (files.report.empty()) {
    picture = picture::fold(log->events);
  } else {
    const auto back = debrief::look_back(
        {std::filesystem::path(files.log).filename().string(), log->events, log->faults},
        [&](std::size_t done, std::size_t of) {
          waiting.at("looking back on the calls", done, of);
        });
    picture = back.picture;
    written = write_file(files.report, debrief::report(back), err);
  }
  if (!files.csv.empty()) written &= write_file(files.csv, debrief::samples_csv(*picture), err);
  if (!files.geojson.empty())
    written &= write_file(files.geojson, debrief::samples_geojson(*picture), err);
  return written ? 0 : 2;
}

}  // namespace stonecall::commands
