#pragma once

#include <concepts>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <variant>
#include <vector>

#include <boost/uuid/uuid.hpp>
#include <boost/uuid/uuid_io.hpp>

#include "protocol/apart.hpp"
#include "protocol/plan.hpp"
#include "protocol/time.hpp"

/// Events as FORMAT.md describes them: one C++ type a kind, an envelope around it.
namespace stonecall::protocol {

using Uuid = boost::uuids::uuid;

struct PlanGiven {
  static constexpr std::string_view kind = "plan";
  Apart<Plan> plan;  ///< never without a value in an event that was read
  bool operator==(const PlanGiven&) const = default;
};

struct VoiceNote {
  static constexpr std::string_view kind = "voice_note";
  std::string text;
  std::optional<std::string> speaker;
  std::optional<double> duration_seconds;
  bool operator==(const VoiceNote&) const = default;
};

struct Arrival {
  static constexpr std::string_view kind = "arrival";
  std::string station;
  bool operator==(const Arrival&) const = default;
};

struct Departure {
  static constexpr std::string_view kind = "departure";
  std::optional<std::string> station;
  bool operator==(const Departure&) const = default;
};

/// Where a sample lay, measured from a known point.
struct Tie {
  std::optional<std::string> to;  ///< a station; the base unless named
  double bearing_degrees = 0;     ///< from north, eastward
  double distance_metres = 0;
  bool operator==(const Tie&) const = default;
};

/// A statement about one sample; several may add up (see FORMAT.md).
struct SampleTaken {
  static constexpr std::string_view kind = "sample";
  Apart<std::string> number;
  Apart<std::string> bag;
  Apart<std::string> rock;
  Apart<std::string> station;
  Apart<Position> place;
  Apart<Tie> tie;
  std::optional<double> size_mm;
  std::optional<PercentRange> buried;
  Apart<std::string> picked;
  Apart<std::string> relation;
  std::optional<PercentRange> like_it;
  Apart<std::string> description;
  Apart<std::string> shape;
  Apart<std::string> colour;
  Apart<std::string> texture;
  std::optional<bool> unselective;
  bool operator==(const SampleTaken&) const = default;
};

struct Photo {
  static constexpr std::string_view kind = "photo";
  std::optional<std::string> sample;  ///< field number
  View view = View::after;
  std::optional<double> direction_degrees;
  bool operator==(const Photo&) const = default;
};

struct Sighting {
  static constexpr std::string_view kind = "sighting";
  std::string rock;
  bool present = true;
  std::optional<std::string> station;
  bool operator==(const Sighting&) const = default;
};

struct RockCount {
  std::string rock;
  int count = 0;
  bool operator==(const RockCount&) const = default;
};

/// One look: an unselective count over kinds.
struct Tally {
  static constexpr std::string_view kind = "tally";
  std::vector<RockCount> counts;
  int total = 0;  ///< rocks looked at; what the counts leave over is of other kinds
  std::optional<std::string> station;
  bool operator==(const Tally&) const = default;
};

struct Share {
  static constexpr std::string_view kind = "share";
  std::string rock;
  PercentRange percent;
  std::optional<double> best_percent;
  std::optional<std::string> station;
  std::optional<std::string> caller;
  bool operator==(const Share&) const = default;
};

struct Question {
  static constexpr std::string_view kind = "question";
  std::string text;
  std::optional<Side> to;
  std::optional<std::string> sample;
  std::optional<std::string> rock;
  bool operator==(const Question&) const = default;
};

struct Amend {
  static constexpr std::string_view kind = "amend";
  Uuid target{};
  Json changes = Json::object();  ///< members and their new values; null takes one away
  std::optional<std::string> why;
  bool operator==(const Amend&) const = default;
};

/// What can be read from a note: an event's members without an envelope.
using Fact =
    std::variant<Arrival, Departure, SampleTaken, Photo, Sighting, Tally, Share, Question, Amend>;

enum class Outcome { accepted, edited, declined };

struct Words {
  std::uint32_t begin = 0;  ///< bytes of the note's text
  std::uint32_t end = 0;
  bool operator==(const Words&) const = default;
};

struct Reading {
  static constexpr std::string_view kind = "reading";
  Uuid note{};
  Outcome outcome = Outcome::accepted;
  Fact fact = Arrival{};
  std::optional<Words> words;
  std::optional<bool> by_itself;
  bool operator==(const Reading&) const = default;
};

enum class Says { stay, move_on, get, ask, free };

struct Call {
  static constexpr std::string_view kind = "call";
  std::string text;
  std::optional<Says> says;
  std::optional<Timestamp> until;
  Apart<std::string> station;
  Apart<std::string> rock;
  Apart<std::string> sample;
  std::optional<Timestamp> useful_until;
  std::optional<double> chance;  ///< 0–1
  Apart<std::string> outcome;
  std::optional<bool> advised;
  bool operator==(const Call&) const = default;
};

/// A chance that somebody stated for the book: nothing that the field is to hear or to act on.
inline bool only_states_a_chance(const Call& call) {
  return call.chance && call.outcome && call.says.value_or(Says::free) == Says::free;
}

enum class Answered { heard, acting, declined };

struct CallAnswer {
  static constexpr std::string_view kind = "call_answer";
  Uuid call{};
  Answered answer = Answered::heard;
  std::optional<std::string> text;
  bool operator==(const CallAnswer&) const = default;
};

struct Answer {
  static constexpr std::string_view kind = "answer";
  Uuid question{};
  std::string text;
  bool operator==(const Answer&) const = default;
};

struct Remark {
  static constexpr std::string_view kind = "remark";
  std::string text;
  std::optional<Uuid> about;
  std::optional<bool> pin;
  /// Of practice: here it was paused for so long, by the clock on the wall.
  std::optional<double> paused_seconds{};
  bool operator==(const Remark&) const = default;
};

struct Retract {
  static constexpr std::string_view kind = "retract";
  Uuid target{};
  std::optional<std::string> why;
  bool operator==(const Retract&) const = default;
};

/// Stands in the place of an event that its store could not keep whole; only a server makes it.
struct Damaged {
  static constexpr std::string_view kind = "damaged";
  std::optional<std::string> left;  ///< what is left of its line
  bool operator==(const Damaged&) const = default;
};

/// A kind we do not know: kept as it came, shown as "not understood".
struct NotUnderstood {
  std::string kind;
  bool operator==(const NotUnderstood&) const = default;
};

/// A variant made from one of its alternatives and nothing else. std::variant's own conversion
/// tries every alternative for every argument, which with this many aggregates took the compiler a
/// third of a second a kind.
template <class... Kinds>
struct OneOf : std::variant<Kinds...> {
  using Variant = std::variant<Kinds...>;

  OneOf() = default;
  template <class Kind>
  requires(std::same_as<std::remove_cvref_t<Kind>, Kinds> || ...)
      OneOf(Kind&& body)  // NOLINT(google-explicit-constructor): an event is said with its body
      : Variant(std::in_place_type<std::remove_cvref_t<Kind>>, std::forward<Kind>(body)) {}
};

using Body = OneOf<PlanGiven, VoiceNote, Arrival, Departure, SampleTaken, Photo, Sighting, Tally,
                   Share, Reading, Call, CallAnswer, Question, Answer, Remark, Amend, Retract,
                   Damaged, NotUnderstood>;

struct Event {
  Uuid id{};
  Timestamp at;
  std::string from;
  std::optional<std::uint64_t> seq;
  std::optional<Timestamp> received;
  Body body;
  Json unknown;  ///< an object of members we do not know, kept and written again; null: none

  bool operator==(const Event&) const = default;
};

/// Events are immutable once made and are shared between pictures, lists and threads.
using EventPtr = std::shared_ptr<const Event>;

std::string_view kind_of(const Event& event);

/// The id of the event that an amend or a retract changes; null for other kinds.
const Uuid* changed_by(const Event& event);

/// When it was known: received, or where nobody noted that, when it happened.
inline Timestamp known_at(const Event& event) {
  return event.received.value_or(event.at);
}

struct Limits {
  static constexpr std::size_t event_bytes = 64 * 1024;
  static constexpr std::size_t text_bytes = 8 * 1024;
  static constexpr std::size_t name_bytes = 80;
  static constexpr std::size_t kind_bytes = 64;
  static constexpr int nesting = 16;
};

/// Reads one event from its JSON text. Faults: over 64 KiB, not UTF-8, not JSON, nested over 16
/// deep, not an object, a member missing, of the wrong form or past its limit. Numbers that
/// overflow to infinity are faults.
Result<Event> parse_event(std::string_view text);
Result<Event> event_from_json(const Json& json);

/// JSON text into a value under the same limits (UTF-8, nesting, finite numbers), for arrays of
/// events and the like. `around` is how many levels of such a list stand around an event.
Result<Json> parse_json(std::string_view text, std::size_t limit_bytes, int around = 1);

/// The canonical form: envelope first, then the members in the order of FORMAT.md, then unknown
/// ones. parse_event(to_json(e)) == e for each valid e.
Json to_json(const Event& event);
std::string to_line(const Event& event);  ///< canonical JSON on one line, no line feed

/// That line as far as the envelope goes, `{"id":…,"kind":…,"at":…,"from":…`, and the members after
/// it, each with a comma before it: between the two is where a server's own members go. The last
/// `}` is in neither.
struct LineParts {
  std::string envelope;
  std::string members;
};
LineParts line_parts(const Event& event);

/// Same id with the same content? Compares all but what the server gives
/// (seq, received, clock_off).
bool same_content(const Event& a, const Event& b);

/// The event after the changes of an amend, or why they cannot be applied.
Result<Event> amended(const Event& event, const Json& changes);

using boost::uuids::to_string;
/// Reads RFC 9562 text, "6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10", in either case.
Result<Uuid> parse_uuid(std::string_view text);
Uuid random_uuid();

std::string_view to_string(Says says);
std::string_view to_string(Answered answer);
std::string_view to_string(Outcome outcome);
std::string_view to_string(Side side);

}  // namespace stonecall::protocol
