#pragma once

#include <iosfwd>
#include <string>
#include <vector>

namespace stonecall::commands {

struct ScoreFiles {
  std::string log;     ///< the recorded exercise
  std::string record;  ///< the adviser's own events during practice, JSON Lines
  std::string adviser;
  std::string sheet;           ///< HTML
  std::string runs;            ///< earlier runs, JSON Lines; empty: none are kept
  std::string day;             ///< of this run; with adviser and exercise it tells runs apart
  std::string ground;          ///< truth of a made-up exercise; empty: it was a real one
  std::vector<int> came_true;  ///< stated chances, by their number on the sheet
  std::vector<int> did_not;
};

/// Judges a practice run: what came true is added to the record, the sheet is written whole or not
/// at all, and the run's line in `runs` is added or brought up to date. A short summary goes to
/// `out`. Exit code: 0; 2 where something can not be read or written, or a number is none of the
/// sheet's.
int score(const ScoreFiles& files, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
