#include "protocol/time.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdio>
#include <optional>

namespace stonecall::protocol {
namespace {

using namespace std::chrono;

/// Reads exactly `digits` decimal digits at the front and steps over them.
std::optional<int> take_digits(std::string_view& text, std::size_t digits) {
  if (text.size() < digits) return std::nullopt;
  int value = 0;
  for (std::size_t i = 0; i < digits; ++i) {
    if (text[i] < '0' || text[i] > '9') return std::nullopt;
    value = value * 10 + (text[i] - '0');
  }
  text.remove_prefix(digits);
  return value;
}

bool take(std::string_view& text, std::string_view any_of) {
  if (text.empty() || any_of.find(text.front()) == std::string_view::npos) return false;
  text.remove_prefix(1);
  return true;
}

Fault not_a_time(const char* why) {
  return {"", std::string("not an RFC 3339 time like 2027-05-18T09:07:25.000+02:00: ") + why,
          std::nullopt};
}

}  // namespace

Result<Timestamp> parse_timestamp(std::string_view text) {
  const auto fail = [](const char* why) { return tl::make_unexpected(not_a_time(why)); };
  const auto y = take_digits(text, 4);
  if (!y || !take(text, "-")) return fail("year");
  const auto mo = take_digits(text, 2);
  if (!mo || !take(text, "-")) return fail("month");
  const auto d = take_digits(text, 2);
  if (!d || !take(text, "Tt ")) return fail("day");
  const auto h = take_digits(text, 2);
  if (!h || !take(text, ":")) return fail("hour");
  const auto mi = take_digits(text, 2);
  if (!mi || !take(text, ":")) return fail("minute");
  const auto s = take_digits(text, 2);
  if (!s) return fail("second");
  const year_month_day date{year{*y}, month{static_cast<unsigned>(*mo)},
                            day{static_cast<unsigned>(*d)}};
  if (!date.ok()) return fail("no such day");
  if (*h > 23 || *mi > 59 || *s > 60) return fail("no such time of day");

  int millis = 0;
  if (take(text, ".")) {
    int place = 100;
    std::size_t digits = 0;
    while (const auto digit = take_digits(text, 1)) {
      millis += *digit * place;
      place /= 10;
      ++digits;
    }
    if (digits == 0) return fail("digits after the point");
  }

  minutes offset{0};
  if (!take(text, "Zz")) {
    const bool behind = !text.empty() && text.front() == '-';
    if (!take(text, "+-")) return fail("offset missing");
    const auto oh = take_digits(text, 2);
    if (!oh || !take(text, ":")) return fail("offset");
    const auto om = take_digits(text, 2);
    if (!om || *oh > 23 || *om > 59) return fail("offset");
    offset = hours{*oh} + minutes{*om};
    if (behind) offset = -offset;
  }
  if (!text.empty()) return fail("text after the time");

  const Instant local =
      sys_days{date} + hours{*h} + minutes{*mi} + seconds{*s} + milliseconds{millis};
  return Timestamp{local - offset, offset};
}

std::string to_string(const Timestamp& time) {
  const auto local = time.instant + time.offset;
  const auto midnight = floor<days>(local);
  const year_month_day date{midnight};
  const hh_mm_ss clock{local - midnight};
  const auto away = abs(time.offset);
  // Digit by digit: snprintf took as long as all the rest of an event's line.
  std::string text = "yyyy-mm-ddThh:mm:ss.mmm+hh:mm";
  const auto put = [&](std::size_t begin, std::size_t end, auto value) {
    for (auto rest = static_cast<unsigned>(value); end-- > begin; rest /= 10)
      text[end] = static_cast<char>('0' + rest % 10);
  };
  put(0, 4, std::clamp(static_cast<int>(date.year()), 0, 9999));  // all that RFC 3339 has
  put(5, 7, static_cast<unsigned>(date.month()));
  put(8, 10, static_cast<unsigned>(date.day()));
  put(11, 13, clock.hours().count());
  put(14, 16, clock.minutes().count());
  put(17, 19, clock.seconds().count());
  put(20, 23, clock.subseconds().count());
  if (time.offset.count() < 0) text[23] = '-';
  put(24, 26, away.count() / 60);
  put(27, 29, away.count() % 60);
  return text;
}

std::string elapsed_text(Milliseconds elapsed) {
  const auto whole = floor<seconds>(abs(elapsed));
  const hh_mm_ss clock{whole};
  std::array<char, 48> buffer{};
  const int size = std::snprintf(buffer.data(), buffer.size(), "%s%lld:%02d:%02d",
                                 elapsed.count() < 0 && whole.count() > 0 ? "-" : "",
                                 static_cast<long long>(clock.hours().count()),
                                 static_cast<int>(clock.minutes().count()),
                                 static_cast<int>(clock.seconds().count()));
  return {buffer.data(), static_cast<std::size_t>(size)};
}

std::string elapsed_minutes_text(Milliseconds elapsed) {
  const auto whole = floor<minutes>(elapsed);
  const auto size_of_it = abs(whole).count();
  std::array<char, 48> buffer{};
  const int size = std::snprintf(
      buffer.data(), buffer.size(), "%s%lld:%02lld", whole.count() < 0 ? "-" : "",
      static_cast<long long>(size_of_it / 60), static_cast<long long>(size_of_it % 60));
  return {buffer.data(), static_cast<std::size_t>(size)};
}

Result<Milliseconds> parse_elapsed(std::string_view text) {
  const Fault fault{"", "not an elapsed time like 1:12:40 (h:mm:ss), 1:12 (h:mm) or 72m",
                    std::nullopt};
  const std::string_view all = text;
  std::array<long, 3> parts{};
  std::size_t count = 0;
  const bool before = take(text, "-");
  while (count < parts.size()) {
    long value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{} || value < 0 || value > 100'000) return tl::make_unexpected(fault);
    text.remove_prefix(static_cast<std::size_t>(end - text.data()));
    parts[count++] = value;
    if (!take(text, ":")) break;
    // "1:" and "1:12:" promise digits that do not come.
    if (text.empty() || count == parts.size()) return tl::make_unexpected(fault);
  }
  Milliseconds elapsed{};
  if (count == 1 && text == "m") {
    elapsed = minutes{parts[0]};
  } else if (!text.empty() || count < 2 || parts[1] > 59 || parts[2] > 59 || all.empty()) {
    return tl::make_unexpected(fault);
  } else {
    elapsed = hours{parts[0]} + minutes{parts[1]} + seconds{parts[2]};
  }
  return before ? -elapsed : elapsed;
}

}  // namespace stonecall::protocol
