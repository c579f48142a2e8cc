#include "console/desk/desk_commands.hpp"

#include <algorithm>
#include <ranges>
#include <utility>

#include <imgui_internal.h>

#include "console/desk/fact_text.hpp"

namespace stonecall::desk {
namespace {

constexpr int least_scale = 80, most_scale = 200, scale_step = 10;

template <class Enum>
Enum next_of(Enum value, int count) {
  return static_cast<Enum>((static_cast<int>(value) + 1) % count);
}

std::optional<RegionId> region_key(std::string_view id) {
  if (id == "desk.hours") return RegionId::hours;
  if (id == "desk.heard") return RegionId::heard;
  if (id == "desk.kinds") return RegionId::kinds;
  if (id == "desk.call") return RegionId::call;
  if (id == "desk.ground") return RegionId::ground;
  if (id == "desk.entry" || id == "desk.note") return RegionId::entry;
  return std::nullopt;
}

/// By key to a region: a text field elsewhere no longer takes what is typed, a line that is being
/// written goes on.
void go_to(Desk& desk, RegionId region) {
  if (region == desk.focus) return;
  if (ImGui::GetCurrentContext()) ImGui::ClearActiveID();
  focus_on(desk, region);
  if (region == RegionId::call) desk.call.writing.take_keyboard = desk.call.writing.begun();
}

/// Out of a sheet, to the region looked at before it.
void close_sheet(Desk& desk) {
  auto before = std::ranges::find_if_not(desk.looked_at, is_sheet);
  focus_on(desk, before == desk.looked_at.end() ? RegionId::heard : *before);
}

void turn_to_sheet(Desk& desk, RegionId sheet) {
  if (desk.focus == sheet)
    close_sheet(desk);
  else
    focus_on(desk, sheet);
}

/// To the region `step` places on in their order, round the end.
void go_round(Desk& desk, std::size_t step) {
  const auto at =
      static_cast<std::size_t>(std::ranges::find(all_regions, desk.focus) - all_regions.begin());
  go_to(desk, all_regions[(at + step) % all_regions.size()]);
}

/// All that the last key press posted.
void take_back_last_act(Desk& desk, Commands& out) {
  if (desk.acts.empty()) return;
  for (const protocol::Uuid& event : desk.acts.back() | std::views::reverse)
    out.push_back(ask::Post{protocol::Retract{event, std::nullopt}, std::nullopt, true});
  desk.acts.pop_back();
}

void scale_to(Settings& settings, int percent) {
  settings.scale_percent = std::clamp(percent, least_scale, most_scale);
}

/// How the desk looks, and what it does by itself. True: the key was one of these.
bool answer_settings_key(Settings& s, std::string_view id) {
  if (id == "desk.larger")
    scale_to(s, s.scale_percent + scale_step);
  else if (id == "desk.smaller")
    scale_to(s, s.scale_percent - scale_step);
  else if (id == "desk.scale")
    scale_to(s, 100);
  else if (id == "desk.theme")
    s.theme = next_of(s.theme, static_cast<int>(all_themes.size()));
  else if (id == "desk.time")
    s.time_mode = next_of(s.time_mode, 3);
  else if (id == "desk.accept_sure")
    s.accept_sure = !s.accept_sure;
  else
    return false;
  return true;
}

/// What stands in the entry line while a proposal is edited: the fact in words that can be read
/// again, of a correction the words it was read from.
std::string words_to_edit(const Proposal& proposal) {
  const auto* amend = std::get_if<protocol::Amend>(&proposal.fact);
  const auto [begin, end] = proposal.words;
  if (amend && amend->why && begin < end && end <= amend->why->size())
    return amend->why->substr(begin, end - begin);
  return chip_text(proposal.fact);
}

struct CarryOut {
  Desk& desk;
  const View& view;
  Commands& out;
  void operator()(const ask::Choose& c) const { desk.chosen = c.chosen; }
  void operator()(const ask::ShowEvent& c) const {
    const protocol::Uuid line = line_of(c.id);
    desk.heard.show = line;
    desk.chosen.event = line;
    std::vector<RegionId>& looked_at = desk.looked_at;
    if (looked_at.empty() || looked_at.front() == RegionId::heard) return;
    std::erase(looked_at, RegionId::heard);
    looked_at.insert(looked_at.begin(), RegionId::heard);
  }
  /// The line an event stands in: of a reading its note's.
  protocol::Uuid line_of(const protocol::Uuid& event) const {
    if (view.picture)
      for (const picture::HeardLine& line : view.picture->heard)
        for (const picture::ReadingMade& made : line.readings)
          if (made.id == event) return line.event->id;
    return event;
  }
  void operator()(const ask::Focus& c) const { focus_on(desk, c.region); }
  void operator()(const ask::OpenLine& c) const {
    open_line(desk.line, c);
    focus_on(desk, RegionId::line);
  }
  void operator()(const ask::CloseSheet&) const { close_sheet(desk); }
  void operator()(const ask::SetTheme& c) const { desk.settings.theme = c.name; }
  void operator()(const ask::SetScale& c) const { scale_to(desk.settings, c.percent); }
  void operator()(const ask::SetTimeMode& c) const { desk.settings.time_mode = c.mode; }
  void operator()(const ask::ShowKeys& c) const {
    desk.keys = {};
    desk.keys.shown = c.shown;
  }
  void operator()(const ask::EditReading& c) const {
    take_into_line(desk.entry, words_to_edit(c.proposal));
    desk.entry.amending.reset();
    desk.entry.editing = c;
    focus_on(desk, RegionId::entry);
  }
  void operator()(const ask::AmendText& c) const {
    take_into_line(desk.entry, c.text);
    desk.entry.editing.reset();
    desk.entry.amending = c;
    focus_on(desk, RegionId::entry);
  }
  template <class Outside>
  void operator()(const Outside& c) const {
    out.push_back(c);
  }
};

}  // namespace

void answer_desk_key(Desk& desk, const View& view, std::string_view id, Commands& out) {
  if (answer_settings_key(desk.settings, id)) return;
  if (const auto region = region_key(id)) {
    go_to(desk, *region);
  } else if (id == "desk.keys") {
    turn_key_sheet(desk.keys);
  } else if (id == "desk.next") {
    go_round(desk, 1);
  } else if (id == "desk.previous") {
    go_round(desk, all_regions.size() - 1);
  } else if (id == "desk.plan") {
    turn_to_sheet(desk, RegionId::plan);
  } else if (id == "desk.link") {
    turn_to_sheet(desk, RegionId::link);
  } else if (id == "desk.search") {
    focus_on(desk, RegionId::heard);
    open_search(desk.heard.search);
  } else if (id == "desk.end") {
    out.push_back(ask::LayEndBeside{!view.playback->end_beside});
  } else if (id == "desk.clear") {
    if (!std::exchange(desk.keys.shown, false)) desk.chosen = {};
  } else if (id == "desk.undo") {
    take_back_last_act(desk, out);
  } else if (id == "desk.quit") {
    out.push_back(ask::Quit{});
  }
}

void carry_out(const Command& command, Desk& desk, const View& view, Commands& out) {
  std::visit(CarryOut{desk, view, out}, command);
}

}  // namespace stonecall::desk
