#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "console/reading/vocabulary.hpp"
#include "protocol/fault.hpp"

namespace stonecall::reading {

enum class NoteFormat { json_lines, web_vtt, sub_rip };

/// By the end of the file's name (".vtt", ".srt"); JSON Lines for any other.
NoteFormat note_format(std::string_view file_name);

/// What a plan says for reading.
struct PlannedWords {
  Vocabulary vocabulary;
  std::string base;  ///< as the back room is called on the loop; may be empty
};

/// Reads a plan, a plan event, a plan line of labelled notes, or the first line of a log that is
/// one of these. Only what is for reading is looked at, so a plan that is still being written will
/// do.
protocol::Result<PlannedWords> parse_planned_words(std::string_view text);

struct ReadCommand {
  NoteFormat format = NoteFormat::json_lines;
  std::string base = "BASE";  ///< notes from here state nothing; a plan line may name another
  std::optional<PlannedWords> plan;  ///< if given, plan lines among the notes are passed over
};

/// Reads notes and writes one line a note, {"id":…,"facts":[…]}, with the field names of the
/// labelled notes and for each fact the words it came from and how sure it is. In JSON Lines a
/// first line of kind "plan" brings the vocabulary, and notes are objects with "text" and, if
/// known, "id" and "from"; other lines with a "kind" are passed over. Without an id a note gets its
/// line number. Answers the faults of lines and cues that were skipped; nothing valid is lost.
std::vector<protocol::Fault> read_notes(std::istream& in, std::ostream& out,
                                        const ReadCommand& command);

}  // namespace stonecall::reading
