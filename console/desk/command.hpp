#pragma once

#include <algorithm>
#include <array>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "console/desk/clock_text.hpp"
#include "console/desk/theme.hpp"
#include "console/desk/view.hpp"
#include "protocol/event.hpp"

/// What a region asks for. A region changes nothing but its own small state; all else is returned
/// as commands.
namespace stonecall::desk {

/// The last three are sheets: they lie over the others while they have the keyboard.
enum class RegionId { hours, heard, kinds, call, ground, entry, plan, line, link };
/// Those that are always there.
inline constexpr std::array all_regions{RegionId::hours, RegionId::heard,  RegionId::kinds,
                                        RegionId::call,  RegionId::ground, RegionId::entry};
inline constexpr std::array all_sheets{RegionId::plan, RegionId::line, RegionId::link};
constexpr bool is_sheet(RegionId region) {
  return std::ranges::find(all_sheets, region) != all_sheets.end();
}

/// What is picked out on all regions at once.
struct Chosen {
  std::optional<std::string> rock;  ///< a rock kind by its name in the vocabulary
  std::optional<std::string> station;
  std::optional<std::string> sample;  ///< its key in the picture
  std::optional<protocol::Uuid> event;
  bool operator==(const Chosen&) const = default;
};

namespace ask {

/// Post an event. The desk gives it id, sender and time; `at` left out is the moment shown.
struct Post {
  protocol::Body body;
  std::optional<protocol::Instant> at;
  bool undoes = false;  ///< takes back an act of ours and is none itself
};
/// Move the player (replay only; practice only backwards).
struct Seek {
  protocol::Instant to;
};
/// Move the player to the next (1) or the previous (−1) event.
struct Step {
  int events;
};
struct Play {
  bool playing;
};
struct Speed {
  double times;
};
/// Replaces what is chosen.
struct Choose {
  Chosen chosen;
};
/// Bring it into sight in Heard.
struct ShowEvent {
  protocol::Uuid id;
};
/// Take a proposal into the entry line, to be said otherwise.
struct EditReading {
  protocol::Uuid note;
  Proposal proposal;
};
/// Take the words of a line into the entry line, to be put right as an amendment.
struct AmendText {
  protocol::Uuid target;
  std::string text;
};
/// Open a line of Heard with its members and its history; `retract`: to be taken back with a
/// reason.
struct OpenLine {
  protocol::Uuid event;
  bool retract = false;
};
/// Back from a sheet to where the keyboard was.
struct CloseSheet {};
struct Focus {
  RegionId region;
};
struct SetTheme {
  ThemeName name;
};
/// 80–200.
struct SetScale {
  int percent;
};
struct SetTimeMode {
  TimeMode mode;
};
/// To the clipboard.
struct CopyText {
  std::string text;
};
/// The sheet of keys.
struct ShowKeys {
  bool shown;
};
/// Lay what is known at the end beside what was known then (replay only).
struct LayEndBeside {
  bool beside;
};
/// Posts from before the exercise was known go to this one (see LinkState::unclaimed).
struct SendUnclaimed {};
struct Quit {};

}  // namespace ask

using Command =
    std::variant<ask::Post, ask::Seek, ask::Step, ask::EditReading, ask::AmendText, ask::OpenLine,
                 ask::CloseSheet, ask::Play, ask::Speed, ask::Choose, ask::ShowEvent, ask::Focus,
                 ask::SetTheme, ask::SetScale, ask::SetTimeMode, ask::CopyText, ask::ShowKeys,
                 ask::LayEndBeside, ask::SendUnclaimed, ask::Quit>;
using Commands = std::vector<Command>;

}  // namespace stonecall::desk
