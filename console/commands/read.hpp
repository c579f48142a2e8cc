#pragma once

#include <iosfwd>
#include <string>

/// `stonecall read FILE`: from voice notes to the facts they state, without a desk or a server.
namespace stonecall::commands {

struct ReadOptions {
  std::string notes;          ///< file: JSON Lines, WebVTT (.vtt) or SubRip (.srt)
  std::string plan;           ///< file; empty: plan lines among the notes, else built-in kinds only
  std::string base = "BASE";  ///< whose notes state nothing, unless a plan says it
};

/// Writes one line a note to `out`, {"id":…,"facts":[…]}, and to `err` what was skipped, by line.
/// Returns the exit code: 0 all was read, 1 some lines were skipped, 2 a file cannot be read.
int read(const ReadOptions& options, std::ostream& out, std::ostream& err);

}  // namespace stonecall::commands
