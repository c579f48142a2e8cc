#include "console/desk/desk.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <GLFW/glfw3.h>
#include <imgui.h>
#include <imgui_internal.h>

#include "console/desk/desk_commands.hpp"
#include "console/desk/sure_readings.hpp"

namespace stonecall::desk {
namespace {

constexpr Chord undo{GLFW_KEY_Z, GLFW_MOD_CONTROL}, escape{GLFW_KEY_ESCAPE, 0};

/// How the desk looks can be changed while the sheet of keys is read.
bool leaves_key_sheet(std::string_view id) {
  constexpr std::array looks{"desk.keys",    "desk.clear", "desk.larger",
                             "desk.smaller", "desk.scale", "desk.theme"};
  return std::ranges::find(looks, id) != looks.end();
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

/// One window over all, of which nothing is drawn but what the regions draw.
void begin_window(ImVec2 size) {
  constexpr ImGuiWindowFlags bare =
      ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_NoMove | ImGuiWindowFlags_NoSavedSettings |
      ImGuiWindowFlags_NoNav | ImGuiWindowFlags_NoScrollWithMouse |
      ImGuiWindowFlags_NoBringToFrontOnFocus | ImGuiWindowFlags_NoBackground;
  ImGui::SetNextWindowPos({0, 0});
  ImGui::SetNextWindowSize(size);
  ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, ImVec2{0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_WindowBorderSize, 0.0F);
  ImGui::Begin("desk", nullptr, bare);
  ImGui::PopStyleVar(2);
}

/// Tips stand beside the pointer from when it moves until the hands go to the keyboard.
void follow_tips(Desk& desk, bool pressed) {
  const ImVec2 at = ImGui::GetIO().MousePos;
  if (at.x != desk.pointed_at.x || at.y != desk.pointed_at.y)
    desk.tips = true;
  else if (pressed || !ImGui::GetIO().InputQueueCharacters.empty())
    desk.tips = false;
  desk.pointed_at = at;
}

ClockText clock_of(const Desk& desk, const View& view) {
  ClockText clock;
  clock.mode = desk.settings.time_mode;
  if (const protocol::Plan* plan = view.plan())
    clock.start = plan->start;
  else if (view.picture)
    clock.start.instant = picture::start_of(*view.picture);
  return clock;
}

/// One frame: gives each region its canvas and gathers what it asks for.
class Frame {
 public:
  /// `asked`: ids of the key lines pressed in regions; outlives it.
  Frame(Desk& desk, const View& view, const Fonts& fonts, std::span<const std::string_view> asked)
      : desk_(desk),
        view_(view),
        size_(ImGui::GetIO().DisplaySize),
        chosen_(desk.chosen),
        pointer_(desk.keys.shown || is_sheet(desk.focus) ? nowhere : pointer_now()) {
    setup_.theme = &theme(desk.settings.theme);
    setup_.fonts = &fonts;
    setup_.clock = clock_of(desk, view);
    setup_.asked = asked;
    setup_.chosen = &chosen_;
    setup_.draw = ImGui::GetWindowDrawList();
    setup_.tips = desk.tips;
    setup_.cut = desk.cut;
    setup_.written = desk.written;
  }
  Frame(const Frame&) = delete;
  Frame& operator=(const Frame&) = delete;

  void lay_out_desk() {
    const auto needed = [&](RegionId id, float width) -> Wanted {
      setup_.area = {0, 0, width, 0};
      if (id == RegionId::kinds) return {kinds_height(view_, desk_.kinds, Canvas(setup_)), 0};
      return id == RegionId::call ? call_height(view_, Canvas(setup_)) : Wanted{};
    };
    desk_.layout = lay_out(size_.x, size_.y, setup_.fonts->scale(), desk_.looked_at, needed);
  }

  /// A canvas of the whole window.
  Canvas whole() {
    setup_.area = {0, 0, size_.x, size_.y};
    setup_.pointer = pointer_in(pointer_, setup_.area);
    return Canvas(setup_);
  }

  /// `draw` draws into a canvas of this area, and returns its commands. `beside_name`: room for
  /// other names right of its own.
  void region(RegionId id, Rect area, float beside_name, auto&& draw) {
    setup_.region = id;
    setup_.area = area;
    setup_.focused = desk_.focus == id;
    setup_.beside_name = beside_name;
    setup_.pointer = pointer_in(pointer_, area);
    // What is written is kept inside; marks may stand a little way out of it.
    const float bleed = std::round(8 * setup_.fonts->scale());
    setup_.draw->PushClipRect({area.x - bleed, area.y - bleed},
                              {area.right() + bleed, area.bottom() + bleed}, true);
    ImGui::PushID(static_cast<int>(id));
    Canvas canvas(setup_);
    Commands asked_for = draw(canvas);
    if (setup_.pointer.pressed && desk_.focus != id) commands.push_back(ask::Focus{id});
    commands.insert(commands.end(), std::make_move_iterator(asked_for.begin()),
                    std::make_move_iterator(asked_for.end()));
    ImGui::PopID();
    setup_.draw->PopClipRect();
  }

  /// The region shown in a place, with the names of those that share it.
  void slot(const Slot& slot, Canvas& whole) {
    float beside_name = 0;
    if (slot.regions.size() > 1) {
      beside_name = names_width(slot, whole);
      // The press is not also one on the region that lies there.
      if (draw_names(slot, desk_, whole)) pointer_ = nowhere;
    }
    draw_mark(desk_, slot.shown,
              {slot.area.x,
               slot.area.y + whole.px(6) + whole.fonts().cap_height(Type::title) - whole.px(1)},
              whole);
    region(slot.shown, slot.area, beside_name,
           [&](Canvas& c) { return draw_shown(slot.shown, c); });
  }

  /// The sheet that has the keyboard, over all.
  void sheet() {
    pointer_ = desk_.keys.shown ? nowhere : pointer_now();
    region(desk_.focus, {0, 0, size_.x, size_.y}, 0, [&](Canvas& c) {
      return desk_.focus == RegionId::plan   ? draw_plan(view_, desk_.plan, c)
             : desk_.focus == RegionId::link ? draw_link(view_, desk_.link, c)
                                             : draw_line(view_, desk_.line, c);
    });
  }

  Commands commands;

 private:
  static constexpr float far = -1e6F;
  static inline const PointerFrame nowhere{{far, far}, {}, {far, far}};

  Commands draw_shown(RegionId id, Canvas& canvas) {
    switch (id) {
      case RegionId::heard:
        return draw_heard(view_, desk_.heard, canvas);
      case RegionId::kinds:
        return draw_kinds(view_, desk_.kinds, canvas);
      case RegionId::call:
        return draw_call(view_, desk_.call, canvas);
      case RegionId::ground:
        return draw_ground(view_, desk_.ground, canvas);
      case RegionId::hours:
      case RegionId::entry:
      case RegionId::plan:
      case RegionId::line:
      case RegionId::link:
        break;
    }
    return {};
  }

  Desk& desk_;
  const View& view_;
  const ImVec2 size_;
  const Chosen chosen_;  ///< as it was when the frame began
  PointerFrame pointer_;
  Canvas::Setup setup_;
};

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
  begin_window(ImGui::GetIO().DisplaySize);
  follow_tips(desk, !pressed.empty());

  Frame frame(desk, view, fonts, asked);
  frame.lay_out_desk();
  const Layout& layout = desk.layout;
  Canvas whole = frame.whole();
  for (const Layout::Line& l : layout.rules) {
    if (l.y0 == l.y1)
      whole.rule(l.x0, l.x1, l.y0);
    else
      whole.upright(l.x0, l.y0, l.y1);
  }
  frame.region(RegionId::hours, layout.hours, 0, [&](Canvas& c) {
    return draw_hours(view, desk.hours, c, layout.compact, layout.words_below);
  });
  for (const Slot& slot : layout.slots) frame.slot(slot, whole);
  desk.entry.accepts_sure = desk.settings.accept_sure && view.mode != Mode::replay;
  frame.region(RegionId::entry, layout.entry, 0,
               [&](Canvas& c) { return draw_entry(view, desk.entry, read, c); });
  if (is_sheet(desk.focus)) frame.sheet();
  accept_sure_readings(desk, view, frame.commands);
  desk.news.follow(view, desk.focus, desk.call.adviser);
  if (desk.keys.shown) draw_key_sheet(desk.focus, view, desk.keys, whole);
  ImGui::End();

  for (const Command& command : frame.commands) carry_out(command, desk, view, out);
  return out;
}

}  // namespace stonecall::desk
