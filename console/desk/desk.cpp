#include "console/desk/desk.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <ranges>

#include <GLFW/glfw3.h>
#include <imgui.h>
#include <imgui_internal.h>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/key_sheet.hpp"

namespace stonecall::desk {
namespace {

constexpr Chord undo{GLFW_KEY_Z, GLFW_MOD_CONTROL}, escape{GLFW_KEY_ESCAPE, 0};
constexpr int least_scale = 80, most_scale = 200, scale_step = 10;

template <class Enum>
Enum next_of(Enum value, int count) {
  return static_cast<Enum>((static_cast<int>(value) + 1) % count);
}

/// Where the left button went down decides which region has the pointer until it comes up.
struct PointerFrame {
  ImVec2 at, moved, pressed_at;
  bool pressed = false, held = false, released = false, twice = false;
  float wheel = 0;
};

PointerFrame pointer_now() {
  const ImGuiIO& io = ImGui::GetIO();
  return {io.MousePos,     io.MouseDelta,       io.MouseClickedPos[0],    io.MouseClicked[0],
          io.MouseDown[0], io.MouseReleased[0], io.MouseDoubleClicked[0], io.MouseWheel};
}

Pointer pointer_in(const PointerFrame& frame, Rect r) {
  Pointer p;
  bool ours = r.contains(frame.pressed_at);
  p.at = frame.at;
  p.over = r.contains(frame.at) && (!frame.held || ours || frame.pressed);
  p.pressed = frame.pressed && p.over;
  p.held = frame.held && ours;
  p.released = frame.released && ours;
  p.twice = frame.twice && p.over;
  if (p.held) p.moved = frame.moved;
  if (p.over) p.wheel = frame.wheel;
  return p;
}

/// How the desk looks can be changed while the sheet of keys is read.
bool leaves_key_sheet(std::string_view id) {
  constexpr std::array looks{"desk.keys",    "desk.clear", "desk.larger",
                             "desk.smaller", "desk.scale", "desk.theme"};
  return std::ranges::find(looks, id) != looks.end();
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

void answer_desk_key(Desk& desk, const View& view, std::string_view id, Commands& out) {
  Settings& s = desk.settings;
  auto scaled = [&](int percent) {
    s.scale_percent = std::clamp(percent, least_scale, most_scale);
  };
  if (auto region = region_key(id))
    go_to(desk, *region);
  else if (id == "desk.keys")
    turn_key_sheet(desk.keys);
  else if (id == "desk.next" || id == "desk.previous") {
    auto at = static_cast<std::size_t>(
        std::find(all_regions.begin(), all_regions.end(), desk.focus) - all_regions.begin());
    std::size_t step = id == "desk.next" ? 1 : all_regions.size() - 1;
    go_to(desk, all_regions[(at + step) % all_regions.size()]);
  } else if (id == "desk.plan" || id == "desk.link") {
    const RegionId sheet = id == "desk.plan" ? RegionId::plan : RegionId::link;
    if (desk.focus == sheet)
      close_sheet(desk);
    else
      focus_on(desk, sheet);
  } else if (id == "desk.search") {
    focus_on(desk, RegionId::heard);
    open_search(desk.heard.search);
  } else if (id == "desk.larger")
    scaled(s.scale_percent + scale_step);
  else if (id == "desk.smaller")
    scaled(s.scale_percent - scale_step);
  else if (id == "desk.scale")
    scaled(100);
  else if (id == "desk.theme")
    s.theme = next_of(s.theme, static_cast<int>(all_themes.size()));
  else if (id == "desk.time")
    s.time_mode = next_of(s.time_mode, 3);
  else if (id == "desk.accept_sure")
    s.accept_sure = !s.accept_sure;
  else if (id == "desk.end")
    out.push_back(ask::LayEndBeside{!view.playback->end_beside});
  else if (id == "desk.clear") {
    if (!std::exchange(desk.keys.shown, false)) desk.chosen = {};
  } else if (id == "desk.undo") {
    if (!desk.acts.empty()) {
      for (const protocol::Uuid& event : desk.acts.back() | std::views::reverse)
        out.push_back(ask::Post{protocol::Retract{event, std::nullopt}, std::nullopt, true});
      desk.acts.pop_back();
    }
  } else if (id == "desk.quit")
    out.push_back(ask::Quit{});
}

/// A reading at least this sure is accepted by itself, where the setting says so. Our own choice:
/// the reader's rank is no frequency.
constexpr double sure_enough = 0.9;
/// Notes typed here whose proposals may still come; most notes that state nothing never have any.
constexpr std::size_t notes_awaited = 8;

/// Accepts the sure readings of notes that were typed here, once each note. Other people's notes
/// are left to their own desks: two desks accepting the same count would count it twice.
void accept_sure_readings(Desk& desk, const View& view, Commands& out) {
  if (desk.own_notes.empty() || !view.picture || !view.proposals) return;
  if (!desk.settings.accept_sure || view.mode == Mode::replay) {
    desk.own_notes.clear();  // switched on later, it does not reach back
    return;
  }
  if (desk.own_notes.size() > notes_awaited)
    desk.own_notes.erase(desk.own_notes.begin(), desk.own_notes.end() - notes_awaited);
  const auto& heard = view.picture->heard;
  std::size_t looked_at = 0;
  constexpr std::size_t far_enough = 200;  // what was just typed stands near the end
  for (auto each = heard.rbegin(); each != heard.rend() && ++looked_at < far_enough; ++each) {
    const picture::HeardLine& line = *each;
    auto ours = std::find(desk.own_notes.begin(), desk.own_notes.end(), line.event->id);
    if (ours == desk.own_notes.end() || !view.proposals->find(line.event->id)) continue;
    for (const Proposal* proposal : undecided(view, line))
      if (proposal->sureness >= sure_enough)
        decide(line.event->id, *proposal, protocol::Outcome::accepted, out, true);
    desk.own_notes.erase(ours);
  }
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
    if (std::find(desk.looked_at.begin(), desk.looked_at.end(), RegionId::heard) !=
        desk.looked_at.begin())
      desk.looked_at.insert(desk.looked_at.begin(), RegionId::heard);
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
  void operator()(const ask::SetScale& c) const {
    desk.settings.scale_percent = std::clamp(c.percent, least_scale, most_scale);
  }
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

/// The mark at the name of a region, left of it: what changed there was not looked at yet.
void draw_mark(const Desk& desk, RegionId region, ImVec2 name, Canvas& canvas) {
  const std::vector<Change>& changes = desk.news.unseen(region);
  if (changes.empty()) return;
  const float r = canvas.px(3);
  const ImVec2 at{name.x - canvas.px(4) - r, name.y - r - canvas.px(2)};
  canvas.draw().AddCircleFilled(at, r, canvas.colour(Ink::rust));
  std::string words = "Not looked at yet: ";
  constexpr std::size_t most = 3;
  for (std::size_t i = changes.size() - std::min(changes.size(), most); i < changes.size(); ++i)
    words += (words.ends_with(": ") ? "" : "; ") + changes[i].words;
  canvas.tip({at.x - 2 * r, at.y - 2 * r, 6 * r, 4 * r}, words);
}

constexpr Font neighbour_font{Type::fine};

/// Room that the names of those need who share a place with the region shown.
float names_width(const Slot& slot, const Canvas& canvas) {
  float width = 0;
  for (RegionId region : slot.regions)
    if (region != slot.shown)
      width += canvas.fonts().width(neighbour_font, name_of(region)) + canvas.px(20);
  return width;
}

/// Names of regions that share a place, right of the name of the one that is shown. True: one of
/// them was pressed.
bool draw_names(const Slot& slot, Desk& desk, Canvas& canvas) {
  // On the line of its heading (Canvas::heading).
  float baseline = slot.names.y + canvas.px(6) + canvas.fonts().cap_height(Type::title);
  std::optional<RegionId> pressed;
  float x = slot.names.x +
            canvas.fonts().width({Type::title, Weight::semibold}, name_of(slot.shown)) +
            canvas.px(20);
  for (RegionId region : slot.regions) {
    if (region == slot.shown) continue;
    std::string_view name = name_of(region);
    float w = canvas.text({x, baseline}, neighbour_font, Ink::soft, name);
    draw_mark(desk, region, {x, baseline}, canvas);
    if (canvas.press(name, {x - canvas.px(8), slot.names.y, w + canvas.px(16), slot.names.h}))
      pressed = region;
    x += w + canvas.px(20);
  }
  if (pressed) focus_on(desk, *pressed);
  return pressed.has_value();
}

}  // namespace

void focus_on(Desk& desk, RegionId region) {
  // What is half typed below a sheet stays there; the keyboard is the sheet's.
  if (is_sheet(region) && ImGui::GetCurrentContext()) ImGui::ClearActiveID();
  desk.focus = region;
  std::erase(desk.looked_at, region);
  desk.looked_at.insert(desk.looked_at.begin(), region);
}

const KeyLine* answer(const Desk& desk, const View& view, Chord chord, bool typing) {
  // Whatever Esc means to the region below the sheet of keys, it first puts the sheet away.
  if (desk.keys.shown && chord == escape)
    return &*std::ranges::find(desk_keys(), "desk.clear", &KeyLine::id);
  // In an empty entry line there is no typing to be undone: the key takes back the last act.
  const bool nothing_typed =
      desk.entry.typed.empty() && ImGui::GetIO().InputQueueCharacters.empty();
  const bool entry = desk.focus == RegionId::entry && !(chord == undo && nothing_typed);
  typing = typing && !(desk.focus == RegionId::entry && chord == undo && nothing_typed);
  return line_for(chord, desk.focus, typing || entry, view);
}

bool typing(const Desk& desk) {
  if (awaits_field(desk)) return true;
  // ImGui goes on saying so for some frames after a field was left, and a field that is no longer
  // drawn keeps what it said last: both must be so.
  const ImGuiID active = ImGui::GetActiveID();
  const bool field = active != 0 && ImGui::GetInputTextState(active) != nullptr;
  return field && (desk.entry.active || desk.heard.search.typing || desk.call.writing.typing ||
                   desk.plan.typing || desk.line.typing);
}

bool awaits_field(const Desk& desk) {
  return (desk.focus == RegionId::entry && (!desk.entry.active || desk.entry.replacement)) ||
         desk.heard.search.take_keyboard || desk.call.writing.take_keyboard ||
         desk.plan.take_keyboard || desk.line.take_keyboard;
}

Commands draw_desk(Desk& desk, const View& view, const Fonts& fonts, const ReadSpeech& read,
                   const std::vector<const KeyLine*>& pressed) {
  Commands out;
  std::vector<std::string_view> asked;
  for (const KeyLine* line : pressed) {
    // What a key does is seen: the sheet of keys does not stay over it.
    if (!leaves_key_sheet(line->id)) desk.keys.shown = false;
    if (line->region)
      asked.push_back(line->id);
    else
      answer_desk_key(desk, view, line->id, out);
  }

  const ImVec2 size = ImGui::GetIO().DisplaySize;
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize(size);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2{0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
  constexpr ImGuiWindowFlags bare =
      ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings |
      ImGuiWindowFlags_NoNav | ImGuiWindowFlags_NoScrollWithMouse |
      ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoBackground;
  ImGui::Begin("desk", nullptr, bare);
  ImGui::PopStyleVar(2);

  const PointerFrame nowhere{{-1e6F, -1e6F}, {}, {-1e6F, -1e6F}};
  PointerFrame pointer = desk.keys.shown || is_sheet(desk.focus) ? nowhere : pointer_now();

  const ImVec2 at = ImGui::GetIO().MousePos;
  if (at.x != desk.pointed_at.x || at.y != desk.pointed_at.y)
    desk.tips = true;
  else if (!pressed.empty() || !ImGui::GetIO().InputQueueCharacters.empty())
    desk.tips = false;
  desk.pointed_at = at;

  Canvas::Setup setup;
  setup.theme = &theme(desk.settings.theme);
  setup.fonts = &fonts;
  setup.clock.mode = desk.settings.time_mode;
  if (const protocol::Plan* plan = view.plan())
    setup.clock.start = plan->start;
  else if (view.picture)
    setup.clock.start.instant = picture::start_of(*view.picture);
  setup.asked = asked;
  const Chosen chosen = desk.chosen;
  setup.chosen = &chosen;
  setup.draw = ImGui::GetWindowDrawList();
  setup.tips = desk.tips;
  setup.cut = desk.cut;
  setup.written = desk.written;

  const auto needed = [&](RegionId id, float width) -> Wanted {
    setup.area = {0, 0, width, 0};
    if (id == RegionId::kinds) return {kinds_height(view, desk.kinds, Canvas(setup)), 0};
    return id == RegionId::call ? call_height(view, Canvas(setup)) : Wanted{};
  };
  desk.layout = lay_out(size.x, size.y, fonts.scale(), desk.looked_at, needed);
  const Layout& layout = desk.layout;

  setup.area = {0, 0, size.x, size.y};
  setup.pointer = pointer_in(pointer, setup.area);
  Canvas whole(setup);
  for (const Layout::Line& l : layout.rules) {
    if (l.y0 == l.y1)
      whole.rule(l.x0, l.x1, l.y0);
    else
      whole.upright(l.x0, l.y0, l.y1);
  }

  Commands commands;
  float beside_name = 0;  // of the region drawn next
  auto region = [&](RegionId id, Rect area, auto&& draw) {
    setup.region = id;
    setup.area = area;
    setup.focused = desk.focus == id;
    setup.beside_name = std::exchange(beside_name, 0);
    setup.pointer = pointer_in(pointer, area);
    // What is written is kept inside; marks may stand a little way out of it.
    float bleed = std::round(8 * fonts.scale());
    setup.draw->PushClipRect({area.x - bleed, area.y - bleed},
                             {area.right() + bleed, area.bottom() + bleed}, true);
    ImGui::PushID(static_cast<int>(id));
    Canvas canvas(setup);
    Commands asked_for = draw(canvas);
    if (setup.pointer.pressed && desk.focus != id) commands.push_back(ask::Focus{id});
    commands.insert(commands.end(), std::make_move_iterator(asked_for.begin()),
                    std::make_move_iterator(asked_for.end()));
    ImGui::PopID();
    setup.draw->PopClipRect();
  };
  region(RegionId::hours, layout.hours, [&](Canvas& c) {
    return draw_hours(view, desk.hours, c, layout.compact, layout.words_below);
  });
  for (const Slot& slot : layout.slots) {
    if (slot.regions.size() > 1) {
      beside_name = names_width(slot, whole);
      // The press is not also one on the region that lies there.
      if (draw_names(slot, desk, whole)) pointer = nowhere;
    }
    draw_mark(desk, slot.shown,
              {slot.area.x,
               slot.area.y + whole.px(6) + whole.fonts().cap_height(Type::title) - whole.px(1)},
              whole);
    region(slot.shown, slot.area, [&](Canvas& c) -> Commands {
      switch (slot.shown) {
        case RegionId::heard:
          return draw_heard(view, desk.heard, c);
        case RegionId::kinds:
          return draw_kinds(view, desk.kinds, c);
        case RegionId::call:
          return draw_call(view, desk.call, c);
        case RegionId::ground:
          return draw_ground(view, desk.ground, c);
        case RegionId::hours:
        case RegionId::entry:
        case RegionId::plan:
        case RegionId::line:
        case RegionId::link:
          break;
      }
      return {};
    });
  }
  desk.entry.accepts_sure = desk.settings.accept_sure && view.mode != Mode::replay;
  region(RegionId::entry, layout.entry,
         [&](Canvas& c) { return draw_entry(view, desk.entry, read, c); });

  if (is_sheet(desk.focus)) {
    pointer = desk.keys.shown ? nowhere : pointer_now();
    region(desk.focus, {0, 0, size.x, size.y}, [&](Canvas& c) {
      return desk.focus == RegionId::plan   ? draw_plan(view, desk.plan, c)
             : desk.focus == RegionId::link ? draw_link(view, desk.link, c)
                                            : draw_line(view, desk.line, c);
    });
  }
  accept_sure_readings(desk, view, commands);
  desk.news.follow(view, desk.focus, desk.call.adviser);
  if (desk.keys.shown) draw_key_sheet(desk.focus, view, desk.keys, whole);
  ImGui::End();

  for (const Command& command : commands) std::visit(CarryOut{desk, view, out}, command);
  return out;
}

}  // namespace stonecall::desk
