#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/desk/call.hpp"
#include "console/desk/entry.hpp"
#include "console/desk/ground.hpp"
#include "console/desk/heard.hpp"
#include "console/desk/hours.hpp"
#include "console/desk/key_sheet.hpp"
#include "console/desk/keys.hpp"
#include "console/desk/kinds.hpp"
#include "console/desk/layout.hpp"
#include "console/desk/line_sheet.hpp"
#include "console/desk/link_sheet.hpp"
#include "console/desk/news.hpp"
#include "console/desk/plan_sheet.hpp"
#include "console/desk/view.hpp"

namespace stonecall::desk {

/// What is kept when the desk is left and found again.
struct Settings {
  ThemeName theme = ThemeName::paper;
  int scale_percent = 100;  ///< 80–200
  TimeMode time_mode = TimeMode::elapsed;
  int width = 1600, height = 900;
  HeardFilter filter;
  bool kinds_whole = false, kinds_all = false;  ///< what Kinds shows
  bool accept_sure = false;  ///< sure readings of notes typed here are accepted by themselves
  /// What stood in the entry line and was not sent, and the server or log it was meant for; only
  /// there is it found again.
  std::string draft, draft_of;
  bool operator==(const Settings&) const = default;
};

/// All that the desk remembers between frames.
struct Desk {
  Settings settings;
  RegionId focus = RegionId::heard;
  std::vector<RegionId> looked_at;  ///< latest first; decides what is shown where places are shared
  Chosen chosen;
  KeySheet keys;
  News news;
  /// What was posted here, by act: all that one key press asked for. For taking the last one back.
  std::vector<std::vector<protocol::Uuid>> acts;
  /// Our latest post: when it is and its id.
  std::optional<std::pair<protocol::Instant, protocol::Uuid>> latest_post;
  std::vector<protocol::Uuid>
      own_notes;  ///< typed here, whose sure readings are still to be accepted

  /// Takes, frame by frame, each text that had no room within its region; null: nobody looks.
  std::vector<std::string>* cut = nullptr;
  /// Takes, frame by frame, each text that is drawn; null: nobody reads.
  std::vector<Canvas::Written>* written = nullptr;
  Layout layout;                    ///< how the last frame was divided
  ImVec2 pointed_at{-1e6F, -1e6F};  ///< where the pointer was in the last frame
  bool tips = false;  ///< it moved since a key was pressed last: a tip would hide what is read

  HoursState hours;
  HeardState heard;
  KindsState kinds;
  CallState call;
  GroundState ground;
  EntryState entry;
  PlanState plan;
  LineState line;
  LinkSheetState link;
};

/// Puts the keyboard into a region.
void focus_on(Desk& desk, RegionId region);

/// What a key press asks for now; null: nothing, the key goes to the text field that has the
/// keyboard, if any.
const KeyLine* answer(const Desk& desk, const View& view, Chord chord, bool typing);

/// Keys are letters of a text now: a field has the keyboard, or is about to get it.
bool typing(const Desk& desk);

/// Typed letters must wait: a text field was asked for and has not got the keyboard yet, or is
/// about to be emptied.
bool awaits_field(const Desk& desk);

/// Draws the desk into the current ImGui frame and returns what is asked of the outside: posts,
/// player, clipboard, quit. All other commands are carried out here. `pressed`: ids of the key
/// lines pressed since the frame before.
Commands draw_desk(Desk& desk, const View& view, const Fonts& fonts, const ReadSpeech& read,
                   const std::vector<const KeyLine*>& pressed);

}  // namespace stonecall::desk
