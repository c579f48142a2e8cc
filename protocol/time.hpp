#pragma once

#include <chrono>
#include <compare>
#include <string>
#include <string_view>

#include "protocol/fault.hpp"

namespace stonecall::protocol {

using Milliseconds = std::chrono::milliseconds;
using Instant = std::chrono::sys_time<Milliseconds>;

/// A span in minutes; and a span of so many, to the nearest millisecond.
constexpr double in_minutes(Milliseconds span) {
  return std::chrono::duration<double, std::ratio<60>>(span).count();
}
constexpr Milliseconds from_minutes(double minutes) {
  return std::chrono::round<Milliseconds>(std::chrono::duration<double, std::ratio<60>>(minutes));
}

/// An instant with the offset its sender wrote, so that local time can be shown as it was said.
struct Timestamp {
  Instant instant{};
  std::chrono::minutes offset{0};  ///< from UTC, within ±23:59

  bool operator==(const Timestamp&) const = default;
};

/// Reads RFC 3339 ("2027-05-18T09:07:25.000+02:00"). Fractions beyond milliseconds are cut off; "Z"
/// and
/// "-00:00" read as offset 0; a leap second (":60") reads as the second after.
Result<Timestamp> parse_timestamp(std::string_view text);

/// Always milliseconds and a numeric offset: "2027-05-18T09:07:25.000+02:00".
std::string to_string(const Timestamp& time);

/// "1:12:40", "-0:03:05": hours, minutes, seconds from the start of the exercise.
std::string elapsed_text(Milliseconds elapsed);

/// "1:12", cut to whole minutes towards the past.
std::string elapsed_minutes_text(Milliseconds elapsed);

/// Reads "1:12:40", "1:12" (hours and minutes) or "72m".
Result<Milliseconds> parse_elapsed(std::string_view text);

}  // namespace stonecall::protocol
