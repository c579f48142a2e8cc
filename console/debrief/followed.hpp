#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/picture/gaps.hpp"
#include "console/picture/picture.hpp"

namespace stonecall::debrief {

/// What happened after a call, by all that is known at the end. It says what came after, not what
/// came of it.
struct Followed {
  std::optional<picture::Instant> heard;  ///< first answer of any kind
  std::optional<picture::Instant> acted;  ///< first "acting"
  std::optional<picture::Instant> declined;
  /// Heard by the time it said it was useful until; none: it said none.
  std::optional<bool> in_time;
  /// Heard, and later than it said it was useful until. Of a call that nobody answered nobody
  /// knows.
  bool heard_too_late() const { return heard && in_time == false; }
  std::string station;                   ///< the next that the party left, and when
  std::optional<picture::Instant> left;  ///< none: no departure came after
  std::vector<std::size_t> samples;      ///< bagged before that departure; of Picture::samples
  std::vector<std::string> new_kinds;    ///< met for the first time anywhere before it
  std::vector<std::size_t> looks;        ///< counted before it; of Picture::looks
  /// What the sample that the call names lacks at the end; none: it names none.
  std::optional<std::vector<picture::Gap>> sample_lacks;
};

/// `call` is one of the picture's; `end` closes the log.
Followed followed(const picture::Picture& picture, const picture::CallMade& call,
                  picture::Instant end);

/// By field number, else by bag; null where there is none of that name.
const picture::Sample* sample_named(const picture::Picture& picture, const std::string& name);

}  // namespace stonecall::debrief
