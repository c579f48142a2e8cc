#pragma once

#include <algorithm>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include <GLFW/glfw3.h>
#include <imgui.h>

#include "console/desk/desk.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"

namespace stonecall::desk::testing {

/// The type of one scale. To draw it takes longer than most tests: desks of the same scale share
/// it.
struct DrawnType {
  ImFontAtlas atlas;
  Fonts fonts;

  static DrawnType& of(float scale) {
    static std::map<float, DrawnType> drawn;
    const auto [type, is_new] = drawn.try_emplace(scale);
    if (is_new) type->second.fonts.build(type->second.atlas, scale);
    return type->second;
  }
};

/// The desk without a window: an ImGui context with its atlas on the CPU, and hands.
class Headless {
 public:
  explicit Headless(float width = 1600, float height = 900, float scale = 1)
      : fonts(DrawnType::of(scale).fonts),
        context_(ImGui::CreateContext(&DrawnType::of(scale).atlas)) {
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;
    io.BackendFlags |= ImGuiBackendFlags_RendererHasVtxOffset;  // as the window's painter says
    io.DeltaTime = 1.0F / 60;
    io.DisplaySize = {width, height};
    io.KeyMap[ImGuiKey_Enter] = GLFW_KEY_ENTER;
    io.KeyMap[ImGuiKey_Backspace] = GLFW_KEY_BACKSPACE;
  }
  ~Headless() { ImGui::DestroyContext(context_); }
  Headless(const Headless&) = delete;
  Headless& operator=(const Headless&) = delete;

  /// One frame in which these chords were pressed.
  Commands frame(const View& view, std::initializer_list<Chord> chords = {}) {
    std::vector<const KeyLine*> pressed;
    // As in the window: a key that no line answers goes to the text field.
    ImGuiIO& io = ImGui::GetIO();
    const bool in_text = typing(desk);
    for (Chord chord : chords) {
      if (const KeyLine* line = answer(desk, view, chord, in_text))
        pressed.push_back(line);
      else
        io.KeysDown[chord.key] = true;
    }
    ImGui::NewFrame();
    Commands out = draw_desk(desk, view, fonts, read, pressed);
    ImGui::Render();
    io.MouseWheel = 0;
    for (Chord chord : chords) io.KeysDown[chord.key] = false;
    return out;
  }
  Commands frames(const View& view, int count) {
    Commands all;
    for (int i = 0; i < count; ++i)
      for (Command& command : frame(view)) all.push_back(std::move(command));
    return all;
  }
  void type(std::string_view text) {
    ImGui::GetIO().AddInputCharactersUTF8(std::string(text).c_str());
  }
  void point(float x, float y) { ImGui::GetIO().MousePos = {x, y}; }
  void hold(bool down) { ImGui::GetIO().MouseDown[0] = down; }
  void wheel(float notches) { ImGui::GetIO().MouseWheel = notches; }
  /// The texts that one frame draws, in the order in which it draws them.
  std::vector<Canvas::Written> written_in_frame(const View& view) {
    std::vector<Canvas::Written> written;
    desk.written = &written;
    frame(view);
    desk.written = nullptr;
    return written;
  }
  std::vector<std::string> read_frame(const View& view) {
    std::vector<std::string> texts;
    for (Canvas::Written& each : written_in_frame(view)) texts.push_back(std::move(each.text));
    return texts;
  }
  /// The lowest mark of the last frame within a part of the screen; its upper edge where there is
  /// none.
  float lowest_mark(const Rect& within) const {
    float lowest = within.y;
    const ImDrawData& drawn = *ImGui::GetDrawData();
    for (int i = 0; i < drawn.CmdListsCount; ++i)
      for (const ImDrawVert& at : drawn.CmdLists[i]->VtxBuffer)
        if (within.contains(at.pos)) lowest = std::max(lowest, at.pos.y);
    return lowest;
  }
  std::size_t vertices() const {
    return static_cast<std::size_t>(ImGui::GetDrawData()->TotalVtxCount);
  }

  Desk desk;
  const Fonts fonts;
  ReadSpeech read;

 private:
  ImGuiContext* context_;
};

inline std::vector<protocol::EventPtr> hallow_beck() {
  auto log = protocol::read_log_file(STONECALL_TESTS_DESK "/hallow_beck.jsonl");
  return log ? log->events : std::vector<protocol::EventPtr>{};
}

inline View view_of(const std::vector<protocol::EventPtr>& events, protocol::Instant now) {
  View view;
  view.source = "hallow_beck.jsonl";
  view.now = now;
  view.picture = picture::fold(events);
  view.playback =
      Playback{false, 1, events.front()->at.instant, events.back()->at.instant, nullptr};
  return view;
}

/// The events of this kind among what the desk wants to post.
template <class Body>
std::vector<Body> posted(const Commands& commands) {
  std::vector<Body> bodies;
  for (const Command& command : commands)
    if (const auto* post = std::get_if<ask::Post>(&command))
      if (const auto* body = std::get_if<Body>(&post->body)) bodies.push_back(*body);
  return bodies;
}

inline protocol::EventPtr note(std::string text, protocol::Instant at,
                               std::string from = "FIELD-1") {
  protocol::Event event;
  event.id = protocol::random_uuid();
  event.at.instant = at;
  event.from = std::move(from);
  event.body = protocol::VoiceNote{std::move(text), std::nullopt, std::nullopt};
  return std::make_shared<const protocol::Event>(std::move(event));
}

}  // namespace stonecall::desk::testing
