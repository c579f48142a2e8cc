#include "console/desk/clock_text.hpp"

#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

namespace stonecall::desk {
namespace {

using namespace std::chrono;

std::string of_day(protocol::Instant at, std::chrono::minutes offset, bool with_seconds) {
  auto local = at.time_since_epoch() + offset;
  auto in_day = floor<std::chrono::seconds>(local - floor<days>(local));
  auto s = in_day.count();
  return with_seconds ? fmt::format("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
                      : fmt::format("{:02}:{:02}", s / 3600, s / 60 % 60);
}

/// A hyphen is no minus sign.
std::string with_minus(std::string elapsed) {
  if (elapsed.starts_with('-')) elapsed.replace(0, 1, "−");
  return elapsed;
}

}  // namespace

std::string ClockText::seconds(protocol::Instant at) const {
  switch (mode) {
    case TimeMode::elapsed:
      return with_minus(protocol::elapsed_text(at - start.instant));
    case TimeMode::local:
      return of_day(at, start.offset, true);
    case TimeMode::utc:
      return of_day(at, std::chrono::minutes{0}, true);
  }
  return {};
}

std::string ClockText::minutes(protocol::Instant at) const {
  switch (mode) {
    case TimeMode::elapsed:
      return with_minus(protocol::elapsed_minutes_text(at - start.instant));
    case TimeMode::local:
      return of_day(at, start.offset, false);
    case TimeMode::utc:
      return of_day(at, std::chrono::minutes{0}, false);
  }
  return {};
}

std::string ClockText::told(const advise::Telling& words) const {
  return words.told(
      [this](protocol::Milliseconds elapsed) { return minutes(start.instant + elapsed); });
}

std::string ClockText::zone() const {
  switch (mode) {
    case TimeMode::elapsed:
      return "elapsed";
    case TimeMode::utc:
      return "UTC";
    case TimeMode::local: {
      auto total = start.offset.count();
      auto size = std::abs(total);
      return fmt::format("UTC{}{:02}:{:02}", total < 0 ? "−" : "+", size / 60, size % 60);
    }
  }
  return {};
}

std::string span_text(protocol::Milliseconds span) {
  // A span that ran out seconds ago must not read as one that just lasts.
  auto minutes = floor<std::chrono::minutes>(span).count();
  auto size = std::abs(minutes);
  return fmt::format("{}{}:{:02}", minutes < 0 ? "−" : "", size / 60, size % 60);
}

std::string minutes_text(double minutes) {
  return fmt::format("{:.0f} min", std::ceil(minutes));
}

std::string age_text(protocol::Milliseconds span) {
  auto s = std::max<long>(0, duration_cast<std::chrono::seconds>(span).count());
  return s < 3600 ? fmt::format("{}:{:02}", s / 60, s % 60)
                  : fmt::format("{}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
}

}  // namespace stonecall::desk
