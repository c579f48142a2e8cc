#pragma once

#include <iosfwd>
#include <string>

namespace stonecall::commands {

struct DebriefFiles {
  std::string log;      ///< recorded log (JSON Lines)
  std::string report;   ///< HTML; empty: none
  std::string csv;      ///< samples; empty: none
  std::string geojson;  ///< samples; empty: none
  std::string beside;   ///< a log of another run of the plan, to be laid beside the first in the
                        ///< report; empty: none
};

/// `stonecall debrief LOG -o report.html`: writes the files that are named. Faults of the log and,
/// for large logs, progress go to `err`. A file appears whole or not at all. Exit code: 0; 2 where
/// nothing can be read or a file can not be written.
int debrief(const DebriefFiles& files, std::ostream& err);

}  // namespace stonecall::commands
