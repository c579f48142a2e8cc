#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/event.hpp"

/// A catalogue of samples as a spreadsheet writes it.
namespace stonecall::commands {

/// One row: what it states, and when, if it says so.
struct CataloguedSample {
  std::size_t line = 0;  ///< of the file where the row begins, from 1
  protocol::SampleTaken sample;
  std::optional<protocol::Timestamp> at;
};

struct SamplesTable {
  std::vector<CataloguedSample> rows;
  std::vector<protocol::Fault> faults;   ///< rows that cannot be read, by line
  std::vector<std::string> passed_over;  ///< columns that no event has a member for
};

/// What completes a time that a row gives without it.
struct LocalTime {
  std::chrono::minutes offset{};   ///< of local time from UTC
  std::optional<std::string> day;  ///< "2027-06-09"; none: a time of day alone is a fault
};

/// Reads comma-separated values (RFC 4180; separated by commas, semicolons or tabs, whichever the
/// first line has most of; decimal commas where it is not commas). The first line names the
/// columns, in any order and case: those of `stonecall debrief --csv` and what else they are
/// commonly called. A broken row costs itself alone. The fault is of the whole: no heading, neither
/// a field number nor a bag among the columns, a column twice.
protocol::Result<SamplesTable> samples_from_csv(std::string_view text, const LocalTime& local);

}  // namespace stonecall::commands
