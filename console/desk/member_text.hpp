#pragma once

#include <span>
#include <string>
#include <string_view>

#include "console/desk/clock_text.hpp"
#include "protocol/event.hpp"

/// Members of an event as a person reads and types them.
namespace stonecall::desk {

enum class Form { text, number, range, yes_no, counts, tie, place, moment, choice };

struct Member {
  std::string_view name;   ///< on the wire: "like_it"
  std::string_view words;  ///< "share like it"
  Form form = Form::text;
};

/// What can be put right of an event of this kind, of a reading what can be of its fact, in the
/// order shown; empty: nothing (what was sent as a call, an alteration, a plan).
std::span<const Member> members_to_amend(const protocol::Event& event);

/// "share like it" for "like_it"; the name itself where it has no words.
std::string_view member_words(std::string_view name);

/// "45–55 %", "basalt 7, scoria 2", "40 m at 120°", "yes", "1:12:40"; "–" for null.
std::string member_text(const protocol::Json& value, Form form, const ClockText& clock);
/// The same, the form taken from the member's name.
std::string member_text(const protocol::Json& value, std::string_view name, const ClockText& clock);

/// Reads what member_text writes, and looser: "45-55", "basalt 7, scoria 2", "40 m at 120°" or "40
/// at 120 from Fold", "46.1, 8.2, 500", "yes", a time as the clock shows it. Null for nothing
/// typed. The fault says what was expected; whether the event may hold the value is not looked at.
protocol::Result<protocol::Json> member_value(std::string_view typed, Form form,
                                              const ClockText& clock);

}  // namespace stonecall::desk
