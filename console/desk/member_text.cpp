#include "console/desk/member_text.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <chrono>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "console/desk/fact_text.hpp"

namespace stonecall::desk {
namespace {

using protocol::Json;
using protocol::Result;

constexpr Member when{"at", "when", Form::moment};
constexpr Member station{"station", "station"};
constexpr Member rock{"rock", "rock"};
constexpr Member note_text{"text", "words"};

constexpr std::array note_members{note_text, Member{"speaker", "speaker"}, when};
constexpr std::array move_members{station, when};
constexpr std::array sample_members{Member{"number", "number"},
                                    Member{"bag", "bag"},
                                    rock,
                                    station,
                                    Member{"size_mm", "size, mm", Form::number},
                                    Member{"buried", "buried", Form::range},
                                    Member{"picked", "picked"},
                                    Member{"relation", "relation"},
                                    Member{"like_it", "share like it", Form::range},
                                    Member{"tie", "tie to base", Form::tie},
                                    Member{"place", "position", Form::place},
                                    Member{"unselective", "not chosen", Form::yes_no},
                                    Member{"shape", "shape"},
                                    Member{"colour", "colour"},
                                    Member{"texture", "texture"},
                                    Member{"description", "description"},
                                    when};
constexpr std::array photo_members{Member{"sample", "sample"}, Member{"view", "view", Form::choice},
                                   Member{"direction_degrees", "camera towards, °", Form::number},
                                   when};
constexpr std::array sighting_members{rock, Member{"present", "seen here", Form::yes_no}, station,
                                      when};
constexpr std::array tally_members{Member{"counts", "counts", Form::counts},
                                   Member{"total", "looked at", Form::number}, station, when};
constexpr std::array share_members{rock,
                                   Member{"percent", "share", Form::range},
                                   Member{"best_percent", "best guess, %", Form::number},
                                   station,
                                   Member{"caller", "said by"},
                                   when};
constexpr std::array question_members{note_text, Member{"to", "to", Form::choice},
                                      Member{"sample", "sample"}, rock, when};
constexpr std::array words_members{note_text, when};

struct MembersOf {
  std::span<const Member> operator()(const protocol::VoiceNote&) const { return note_members; }
  std::span<const Member> operator()(const protocol::Arrival&) const { return move_members; }
  std::span<const Member> operator()(const protocol::Departure&) const { return move_members; }
  std::span<const Member> operator()(const protocol::SampleTaken&) const { return sample_members; }
  std::span<const Member> operator()(const protocol::Photo&) const { return photo_members; }
  std::span<const Member> operator()(const protocol::Sighting&) const { return sighting_members; }
  std::span<const Member> operator()(const protocol::Tally&) const { return tally_members; }
  std::span<const Member> operator()(const protocol::Share&) const { return share_members; }
  std::span<const Member> operator()(const protocol::Question&) const { return question_members; }
  std::span<const Member> operator()(const protocol::Answer&) const { return words_members; }
  std::span<const Member> operator()(const protocol::Remark&) const { return words_members; }
  std::span<const Member> operator()(const protocol::Reading& reading) const {
    auto members = std::visit(*this, reading.fact);
    // A fact counts from its note's time: that is the note's to put right.
    return members.empty() ? members : members.first(members.size() - 1);
  }
  std::span<const Member> operator()(const protocol::PlanGiven&) const { return {}; }
  std::span<const Member> operator()(const protocol::Call&) const { return {}; }
  std::span<const Member> operator()(const protocol::CallAnswer&) const { return {}; }
  std::span<const Member> operator()(const protocol::Amend&) const { return {}; }
  std::span<const Member> operator()(const protocol::Retract&) const { return {}; }
  std::span<const Member> operator()(const protocol::Damaged&) const { return {}; }
  std::span<const Member> operator()(const protocol::NotUnderstood&) const { return {}; }
};

const Member* member_named(std::string_view name) {
  for (std::span<const Member> members :
       {std::span<const Member>(sample_members), std::span<const Member>(photo_members),
        std::span<const Member>(sighting_members), std::span<const Member>(tally_members),
        std::span<const Member>(share_members), std::span<const Member>(question_members),
        std::span<const Member>(note_members)})
    for (const Member& each : members)
      if (each.name == name) return &each;
  return nullptr;
}

std::string_view trimmed(std::string_view s, std::string_view off = " ") {
  const auto begin = s.find_first_not_of(off);
  if (begin == std::string_view::npos) return {};
  return s.substr(begin, s.find_last_not_of(off) - begin + 1);
}

tl::unexpected<protocol::Fault> expected(std::string what) {
  return tl::unexpected(protocol::Fault{"", "expected " + std::move(what), std::nullopt});
}

/// Takes a number from the front of `s`.
std::optional<double> take_number(std::string_view& s) {
  s = trimmed(s);
  double value = 0;
  auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), value);
  if (error != std::errc{}) return std::nullopt;
  s.remove_prefix(static_cast<std::size_t>(end - s.data()));
  return value;
}

bool take(std::string_view& s, std::string_view what) {
  s = trimmed(s);
  if (!s.starts_with(what)) return false;
  s.remove_prefix(what.size());
  return true;
}

/// Whole numbers are written whole, so that "12" stays a count.
Json number_json(double value) {
  if (value == static_cast<double>(static_cast<std::int64_t>(value)))
    return static_cast<std::int64_t>(value);
  return value;
}

Result<Json> number_from(std::string_view s) {
  auto value = take_number(s);
  if (!value || *value > 1e9 || *value < -1e9 || !trimmed(s, " %°").empty())
    return expected("a number");
  return number_json(*value);
}

Result<Json> range_from(std::string_view s) {
  auto low = take_number(s);
  auto high = low;
  if (low && (take(s, "–") || take(s, "-") || take(s, "to"))) high = take_number(s);
  take(s, "%");
  if (!low || !high || !trimmed(s).empty()) return expected("a range in percent, as 45–55");
  return Json{{"low", *low}, {"high", *high}};
}

Result<Json> yes_no_from(std::string_view s) {
  if (s == "yes" || s == "y") return Json(true);
  if (s == "no" || s == "n") return Json(false);
  return expected("yes or no");
}

Result<Json> counts_from(std::string_view s) {
  Json counts = Json::array();
  while (!s.empty()) {
    const auto comma = s.find(',');
    std::string_view each = trimmed(s.substr(0, comma));
    s = comma == std::string_view::npos ? std::string_view{} : s.substr(comma + 1);
    const auto blank = each.rfind(' ');
    std::string_view figure = blank == std::string_view::npos ? "" : each.substr(blank + 1);
    std::int64_t count = 0;
    auto [end, error] = std::from_chars(figure.data(), figure.data() + figure.size(), count);
    if (figure.empty() || error != std::errc{} || end != figure.data() + figure.size())
      return expected("counts, as basalt 7, scoria 2");
    counts.push_back({{"rock", trimmed(each.substr(0, blank))}, {"count", count}});
  }
  return counts;
}

Result<Json> tie_from(std::string_view s) {
  auto distance = take_number(s);
  if (distance) take(s, "m");
  const bool at = distance && take(s, "at");
  auto bearing = at ? take_number(s) : std::nullopt;
  if (!bearing) return expected("a distance and a bearing, as 40 m at 120°");
  take(s, "°");
  Json tie = Json::object();
  if (take(s, "from")) {
    tie["to"] = trimmed(s);
    s = {};
  }
  if (!trimmed(s).empty()) return expected("a distance and a bearing, as 40 m at 120°");
  tie["bearing_degrees"] = *bearing;
  tie["distance_metres"] = *distance;
  return tie;
}

Result<Json> place_from(std::string_view s) {
  std::vector<double> figures;
  while (auto value = take_number(s)) {
    figures.push_back(*value);
    take(s, ",");
  }
  if (!trimmed(s).empty() || figures.size() < 2 || figures.size() > 3)
    return expected("latitude, longitude and perhaps the height in metres");
  Json place{{"latitude", figures[0]}, {"longitude", figures[1]}};
  if (figures.size() == 3) place["height_metres"] = figures[2];
  return place;
}

/// The instant from which the clock shown counts.
protocol::Instant zero_of(const ClockText& clock) {
  if (clock.mode == TimeMode::elapsed) return clock.start.instant;
  const std::chrono::minutes offset =
      clock.mode == TimeMode::local ? clock.start.offset : std::chrono::minutes{0};
  return std::chrono::floor<std::chrono::days>(clock.start.instant + offset) - offset;
}

Result<Json> moment_from(std::string_view s, const ClockText& clock) {
  constexpr std::string_view minus = "−";  // as the clock writes it
  const bool before = s.starts_with(minus);
  auto since =
      protocol::parse_elapsed(before ? "-" + std::string(s.substr(minus.size())) : std::string(s));
  if (!since) return expected("a time as the clock shows it, as 1:12:40");
  return Json(
      protocol::to_string(protocol::Timestamp{zero_of(clock) + *since, clock.start.offset}));
}

}  // namespace

std::span<const Member> members_to_amend(const protocol::Event& event) {
  return std::visit(MembersOf{}, event.body);
}

std::string_view member_words(std::string_view name) {
  const Member* member = member_named(name);
  return member ? member->words : name;
}

std::string member_text(const Json& value, Form form, const ClockText& clock) {
  if (value.is_null()) return "–";
  if (form == Form::moment && value.is_string()) {
    auto at = protocol::parse_timestamp(value.get<std::string>());
    return at ? clock.seconds(at->instant) : value.get<std::string>();
  }
  if (form == Form::choice && value.is_string()) {
    std::string words = value.get<std::string>();
    std::replace(words.begin(), words.end(), '_', ' ');
    return words;
  }
  if (value.is_string()) return value.get<std::string>();
  if (value.is_boolean()) return value.get<bool>() ? "yes" : "no";
  if (value.is_number()) return fmt::format("{:.10g}", value.get<double>());
  if (value.is_object() && value.contains("low") && value.contains("high"))
    return range_text({value["low"].get<double>(), value["high"].get<double>()});
  if (value.is_object() && value.contains("latitude") && value.contains("longitude")) {
    std::string text = fmt::format("{:.10g}, {:.10g}", value["latitude"].get<double>(),
                                   value["longitude"].get<double>());
    if (value.contains("height_metres"))
      text += fmt::format(", {:.10g}", value["height_metres"].get<double>());
    return text;
  }
  if (value.is_object() && value.contains("bearing_degrees") && value.contains("distance_metres")) {
    std::string text = fmt::format("{:.10g} m at {:.10g}°", value["distance_metres"].get<double>(),
                                   value["bearing_degrees"].get<double>());
    if (value.contains("to")) text += " from " + value["to"].get<std::string>();
    return text;
  }
  if (form == Form::counts && value.is_array()) {
    std::string text;
    for (const Json& each : value)
      text += fmt::format("{}{} {}", text.empty() ? "" : ", ", each.value("rock", "?"),
                          each.value("count", 0));
    return text;
  }
  return value.dump();
}

std::string member_text(const Json& value, std::string_view name, const ClockText& clock) {
  const Member* member = member_named(name);
  return member_text(value, member ? member->form : Form::text, clock);
}

Result<Json> member_value(std::string_view typed, Form form, const ClockText& clock) {
  const std::string_view s = trimmed(typed);
  if (s.empty() || s == "–") return Json();
  switch (form) {
    case Form::text:
      return Json(s);
    case Form::number:
      return number_from(s);
    case Form::range:
      return range_from(s);
    case Form::yes_no:
      return yes_no_from(s);
    case Form::counts:
      return counts_from(s);
    case Form::tie:
      return tie_from(s);
    case Form::place:
      return place_from(s);
    case Form::moment:
      return moment_from(s, clock);
    case Form::choice: {
      std::string word(s);
      std::replace(word.begin(), word.end(), ' ', '_');
      return Json(word);
    }
  }
  return Json();
}

}  // namespace stonecall::desk
