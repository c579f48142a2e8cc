#pragma once

#include <iosfwd>
#include <map>
#include <string>
#include <vector>

/// `stonecall assemble`: transcripts and a catalogue of samples made into a log.
namespace stonecall::commands {

struct AssembleOptions {
  std::vector<std::string> captions;  ///< files: WebVTT (.vtt) or SubRip (.srt)
  std::string samples;                ///< CSV; empty: none
  std::vector<std::string> plans;  ///< each in force from its start, the first from the first note
  std::string log;                 ///< to be written
  std::string unmatched;           ///< where the report goes; empty: `err`
  /// By caption file, as given or by its name alone. RFC 3339; a WebVTT file may say it itself, in
  /// its header or a NOTE: "start: 2027-06-09T08:30:00+04:00".
  std::map<std::string, std::string> starts;
  std::map<std::string, double> offsets;      ///< seconds by which a recorder's clock was slow
  std::map<std::string, std::string> voices;  ///< who stands behind a caption's voice tag
  std::string from = "FIELD-1";               ///< who speaks where nobody is named
  /// Facts read from notes are accepted from this sureness on, 0–1. A sample is as sure as the
  /// least sure word of it, and what a rock looks like reads at 0.6.
  double sure = 0.6;
};

/// Writes the log: notes, what was read from them for sure (readings marked by_itself), and the
/// catalogued samples, each at the last note that speaks of it, else at its own time, else at the
/// end. The same files give the same log, ids included. What could not be matched or read goes to
/// the report; a summary to `out`. Exit code: 0; 1 where the report has a line that is more than a
/// remark; 2 where nothing was written.
int assemble(const AssembleOptions& options, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
