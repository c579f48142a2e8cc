#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "console/desk/clock_text.hpp"
#include "console/desk/theme.hpp"
#include "protocol/event.hpp"

/// What a region asks for. A region changes nothing but its own small state; all else is returned
/// as commands.
namespace stonecall::desk {

enum class RegionId { hours, heard, kinds, call, ground, entry };
constexpr std::array all_regions{RegionId::hours, RegionId::heard,  RegionId::kinds,
                                 RegionId::call,  RegionId::ground, RegionId::entry};

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
};
struct Seek {
  protocol::Instant to;
};  ///< move the player (replay only; practice only backwards)
struct Play {
  bool playing;
};
struct Speed {
  double times;
};
struct Choose {
  Chosen chosen;
};  ///< replaces what is chosen
struct ShowEvent {
  protocol::Uuid id;
};  ///< bring it into sight in Heard
struct Focus {
  RegionId region;
};
struct SetTheme {
  ThemeName name;
};
struct SetScale {
  int percent;
};  ///< 80–200
struct SetTimeMode {
  TimeMode mode;
};
struct CopyText {
  std::string text;
};  ///< to the clipboard
struct ShowKeys {
  bool shown;
};  ///< the sheet of keys
struct Quit {};

}  // namespace ask

using Command = std::variant<ask::Post, ask::Seek, ask::Play, ask::Speed, ask::Choose,
                             ask::ShowEvent, ask::Focus, ask::SetTheme, ask::SetScale,
                             ask::SetTimeMode, ask::CopyText, ask::ShowKeys, ask::Quit>;
using Commands = std::vector<Command>;

}  // namespace stonecall::desk
