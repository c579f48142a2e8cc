#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "console/desk/clock_text.hpp"
#include "protocol/event.hpp"

/// Events and facts in plain words, as chips and lines show them.
namespace stonecall::desk {

/// A fact on a chip: "sample 14, bag 31: pumice", "share: scoria, 45–55 %", "tally of 10: basalt 7,
/// scoria 2".
std::string chip_text(const protocol::Fact& fact);

/// An event as a line of Heard: what was said, or what happened.
std::string line_text(const protocol::Event& event);

/// The words of a call as they were sent. The moment in those of an advised call is elapsed; where
/// the clock shows another time that moment stands behind them: "(leave 09:49)".
std::string call_text(const protocol::Call& call, const ClockText& clock);

/// Who speaks in a line: the speaker of a voice note, else the sender.
const std::string& speaker_of(const protocol::Event& event);

/// "45–55 %", "20 %" where both ends are one.
std::string range_text(const protocol::PercentRange& range);

}  // namespace stonecall::desk
