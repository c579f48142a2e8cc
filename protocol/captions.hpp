#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/event.hpp"
#include "protocol/fault.hpp"
#include "protocol/time.hpp"

namespace stonecall::protocol {

/// WebVTT: The Web Video Text Tracks Format, W3C Candidate Recommendation, 4 April 2019. SubRip has
/// no standard; read as players commonly do.
enum class CaptionFormat { web_vtt, sub_rip };

/// What one voice says in a cue. A cue with several voices gives one of these for each.
struct Cue {
  std::size_t line = 0;  ///< of its times, from 1
  std::string id;        ///< as written; may be empty
  Milliseconds begin{};  ///< from the start of the recording
  Milliseconds end{};    ///< not before `begin`
  std::string speaker;   ///< WebVTT: of <v SPEAKER>; SubRip: of "FIELD-1: …"; may be empty
  std::string text;      ///< without tags, entities resolved, lines joined with a space

  bool operator==(const Cue&) const = default;
};

/// Whether a fault of captions is only a remark: the cue that it names was read all the same.
inline bool is_remark(const Fault& fault) {
  return fault.what.ends_with("kept");
}

/// Reads captions from bytes as they come, so that a file can be followed while it grows. A cue is
/// finished by an empty line, by the times of the next, or by `finish`. Broken cues are faults
/// named by line and are skipped.
class CaptionReader {
 public:
  explicit CaptionReader(CaptionFormat format) : format_(format) {}

  /// Any bytes, cut anywhere. Lines end in LF, CR LF or CR.
  void feed(std::string_view bytes);
  /// No more bytes will come.
  void finish();

  /// What was finished since the last asking.
  std::vector<Cue> take_cues();
  std::vector<Fault> take_faults();

 private:
  struct Line {
    std::size_t number = 0;
    std::string text;
    bool utf8 = true;
  };
  void end_line();
  void take_line(Line line);
  void end_block();
  void read_cue(const Line* id, const Line& times, const Line* first, const Line* last);
  void fault(std::size_t line, std::string what);

  CaptionFormat format_;
  std::string pending_;        ///< of a line whose end has not come
  bool too_long_ = false;      ///< the pending line passed the limit; the rest of it is dropped
  bool after_return_ = false;  ///< the last byte was CR: an LF belongs to it
  std::size_t line_number_ = 0;
  bool seen_signature_ = false;
  std::vector<Line> block_;
  std::set<std::string> ids_;
  std::vector<Cue> cues_;
  std::vector<Fault> faults_;
};

/// When a recording started, and by how much the clock that made it was slow (negative: fast).
struct CaptionClock {
  Timestamp start;
  Milliseconds offset{0};
};

/// The voice note of a cue. Its id follows from `source` (the file's name), the cue's time, speaker
/// and words (a name-based UUID, RFC 9562 version 5), so that importing a file twice stores each
/// note once.
Event voice_note(const Cue& cue, const CaptionClock& clock, std::string_view source,
                 std::string_view from);

}  // namespace stonecall::protocol
