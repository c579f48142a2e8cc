#pragma once

#include <string>
#include <vector>

#include "console/debrief/hidden_truth.hpp"
#include "console/debrief/score.hpp"

namespace stonecall::debrief {

/// One practice run in one line, as it is kept to show progress.
struct PracticeRun {
  std::string day;  ///< ISO 8601
  std::string adviser;
  std::string exercise;
  int calls = 0;
  std::optional<double> mean_regret;
  std::optional<double> brier;
  bool operator==(const PracticeRun&) const = default;
};

/// Canonical JSON on one line, without a line feed.
std::string to_line(const PracticeRun& run);
/// Faults name the member.
protocol::Result<PracticeRun> parse_practice_run(std::string_view line);

PracticeRun run_of(const Debrief& debrief, const ScoreSheet& sheet, std::string day);

/// The score sheet as one HTML page in the look of the report. `earlier` are this adviser's runs
/// before, oldest first. `truth` is shown where the exercise was made up; else it is empty.
std::string score_sheet(const Debrief& debrief, const ScoreSheet& sheet,
                        const std::vector<PracticeRun>& earlier,
                        const std::vector<StationTruth>& truth = {});

}  // namespace stonecall::debrief
