#pragma once

#include <string>

#include "console/advise/telling.hpp"
#include "protocol/time.hpp"

namespace stonecall::desk {

enum class TimeMode { elapsed, local, utc };

/// How instants are written on the desk: from the start of the exercise, in the plan's zone, or in
/// UTC.
struct ClockText {
  TimeMode mode = TimeMode::elapsed;
  protocol::Timestamp start;  ///< planned start; its offset is local time

  std::string seconds(protocol::Instant at) const;  ///< "1:12:40", "09:42:40"
  std::string minutes(protocol::Instant at) const;  ///< "1:12", "09:42"
  std::string zone() const;                         ///< "elapsed", "UTC+02:00", "UTC"
  std::string told(const advise::Telling& words) const;
};

/// "0:34": hours and minutes of a span; a negative span has a minus sign.
std::string span_text(protocol::Milliseconds span);
/// "18 min": whole minutes, up; of a way back, so that it is never told too short.
std::string minutes_text(double minutes);
/// "0:08" minutes and seconds under an hour, "1:02:08" above.
std::string age_text(protocol::Milliseconds span);

}  // namespace stonecall::desk
