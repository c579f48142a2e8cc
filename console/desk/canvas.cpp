#include "console/desk/canvas.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include <imgui_internal.h>
#include <imgui_stdlib.h>

namespace stonecall::desk {
namespace {

ImU32 pack(Rgb c, float alpha) {
  return IM_COL32(c.r, c.g, c.b,
                  static_cast<int>(std::lround(std::clamp(alpha, 0.0F, 1.0F) * 255)));
}

ImVec4 unpack(Rgb c, float alpha = 1) {
  return {static_cast<float>(c.r) / 255, static_cast<float>(c.g) / 255,
          static_cast<float>(c.b) / 255, alpha};
}

float shift(Align align, float width) {
  return align == Align::left ? 0 : align == Align::right ? width : width / 2;
}

/// While it lives, lines and columns that are pasted stay parted by a space: a field of one line
/// leaves out line breaks and tabs, and would join the words on both sides.
class OneLinePaste {
 public:
  OneLinePaste()
      : io_(ImGui::GetIO()),
        get_(io_.GetClipboardTextFn),
        set_(io_.SetClipboardTextFn),
        data_(io_.ClipboardUserData) {
    io_.GetClipboardTextFn = [](void* self) { return static_cast<OneLinePaste*>(self)->text(); };
    io_.SetClipboardTextFn = [](void* self, const char* text) {
      const auto& of = *static_cast<OneLinePaste*>(self);
      if (of.set_) of.set_(of.data_, text);
    };
    io_.ClipboardUserData = this;
  }
  ~OneLinePaste() {
    io_.GetClipboardTextFn = get_;
    io_.SetClipboardTextFn = set_;
    io_.ClipboardUserData = data_;
  }
  OneLinePaste(const OneLinePaste&) = delete;
  OneLinePaste& operator=(const OneLinePaste&) = delete;

 private:
  const char* text() {
    const char* held = get_ ? get_(data_) : nullptr;
    if (!held) return nullptr;
    line_.clear();
    for (const char c : std::string_view(held)) {
      const bool parts = c == '\n' || c == '\r' || c == '\t';
      if (!parts)
        line_ += c;
      else if (!line_.empty() && line_.back() != ' ')
        line_ += ' ';
    }
    return line_.c_str();
  }

  ImGuiIO& io_;
  const char* (*get_)(void*);
  void (*set_)(void*, const char*);
  void* data_;
  std::string line_;
};

}  // namespace

Canvas::Canvas(const Setup& setup) : s_(setup) {}

bool Canvas::asked(std::string_view id) const {
  return std::find(s_.asked.begin(), s_.asked.end(), id) != s_.asked.end();
}

float Canvas::px(float design) const {
  return std::round(design * s_.fonts->scale());
}
float Canvas::baseline_in(float top, float height, Type type) const {
  return top + std::round((height + s_.fonts->cap_height(type)) / 2);
}
ImU32 Canvas::colour(Ink role, float alpha) const {
  return pack((*s_.theme)[role], alpha);
}
ImU32 Canvas::colour(Rgb rgb, float alpha) const {
  return pack(rgb, alpha);
}

float Canvas::text(ImVec2 at, Font font, Ink ink, std::string_view s, Align align) {
  if (align != Align::left) at.x -= shift(align, fonts().width(font, s));
  float width = fonts().run(s_.draw, at, font, colour(ink), s, false);
  note(at, width, font, s);
  return width;
}

void Canvas::note(ImVec2 baseline, float width, Font font, std::string_view s) const {
  const float cap = fonts().cap_height(font.type);
  if (s_.written && !s.empty())
    s_.written->push_back({std::string(s), {baseline.x, baseline.y - cap, width, cap}});
  if (!s_.cut || s.empty()) return;
  const ImVec2 from = s_.draw->GetClipRectMin(), to = s_.draw->GetClipRectMax();
  const float below = std::round(static_cast<float>(fonts().em(font.type)) * 0.22F);
  if (baseline.x < from.x || baseline.x + width > to.x + 1 ||
      baseline.y - fonts().cap_height(font.type) < from.y || baseline.y + below > to.y + 1)
    s_.cut->emplace_back(s);
}

float Canvas::figures(ImVec2 at, Font font, Ink ink, std::string_view s, Align align) {
  if (align != Align::left) at.x -= shift(align, fonts().figures_width(font, s));
  float width = fonts().run(s_.draw, at, font, colour(ink), s, true);
  note(at, width, font, s);
  return width;
}

float Canvas::paragraph(ImVec2 at, Font font, Ink ink, std::string_view s, float width) {
  float line = fonts().line_height(font.type);
  float used = 0;
  for (auto [begin, end] : wrap(fonts(), font, s, width)) {
    text({at.x, at.y + used}, font, ink, s.substr(begin, end - begin));
    used += line;
  }
  return used;
}

void Canvas::rule(float x0, float x1, float y, Ink ink) {
  float thick = std::max(1.0F, std::floor(s_.fonts->scale()));
  s_.draw->AddRectFilled({std::round(x0), std::round(y)}, {std::round(x1), std::round(y) + thick},
                         colour(ink));
}

void Canvas::upright(float x, float y0, float y1, Ink ink) {
  float thick = std::max(1.0F, std::floor(s_.fonts->scale()));
  s_.draw->AddRectFilled({std::round(x), std::round(y0)}, {std::round(x) + thick, std::round(y1)},
                         colour(ink));
}

void Canvas::fill(Rect r, Ink ink, float rounding, float alpha) {
  s_.draw->AddRectFilled({r.x, r.y}, {r.right(), r.bottom()}, colour(ink, alpha), rounding);
}

void Canvas::outline(Rect r, Ink ink, float rounding, float thickness) {
  s_.draw->AddRect({r.x, r.y}, {r.right(), r.bottom()}, colour(ink), rounding, 0, thickness);
}

void Canvas::chosen_ground(Rect row) {
  fill({row.x - px(6), row.y, row.w + px(12), row.h}, Ink::chosen, px(3));
}

void Canvas::glyph(ImVec2 c, float size, const KindInk& kind) {
  ImDrawList& d = *s_.draw;
  float r = size / 2;
  ImU32 fill = colour(kind.fill), edge = colour(kind.outline);
  float stroke = std::max(1.0F, s_.fonts->scale());
  auto polygon = [&](std::span<const ImVec2> points) {
    auto n = static_cast<int>(points.size());
    d.AddConvexPolyFilled(points.data(), n, fill);
    d.AddPolyline(points.data(), n, edge, ImDrawFlags_Closed, stroke);
  };
  auto regular = [&](int corners, float from, float radius) {
    std::array<ImVec2, 8> points{};
    for (int i = 0; i < corners; ++i) {
      float a = from +
                static_cast<float>(i) * 2 * std::numbers::pi_v<float> / static_cast<float>(corners);
      points[static_cast<std::size_t>(i)] = {c.x + radius * std::sin(a),
                                             c.y - radius * std::cos(a)};
    }
    polygon(std::span(points).first(static_cast<std::size_t>(corners)));
  };
  // Shapes are sized for equal area, not equal width, so that none shouts.
  switch (kind.shape) {
    case Shape::circle:
    case Shape::count_:
      d.AddCircleFilled(c, r, fill, 24);
      d.AddCircle(c, r, edge, 24, stroke);
      break;
    case Shape::triangle_up:
      polygon(std::array{ImVec2{c.x, c.y - r * 1.15F}, ImVec2{c.x + r * 1.15F, c.y + r * 0.9F},
                         ImVec2{c.x - r * 1.15F, c.y + r * 0.9F}});
      break;
    case Shape::triangle_down:
      polygon(std::array{ImVec2{c.x - r * 1.15F, c.y - r * 0.9F},
                         ImVec2{c.x + r * 1.15F, c.y - r * 0.9F}, ImVec2{c.x, c.y + r * 1.15F}});
      break;
    case Shape::square: {
      float h = r * 0.9F;
      polygon(std::array{ImVec2{c.x - h, c.y - h}, ImVec2{c.x + h, c.y - h},
                         ImVec2{c.x + h, c.y + h}, ImVec2{c.x - h, c.y + h}});
      break;
    }
    case Shape::diamond:
      regular(4, 0, r * 1.25F);
      break;
    case Shape::hexagon:
      regular(6, 0, r * 1.08F);
      break;
    case Shape::star: {
      std::array<ImVec2, 10> points{};
      for (std::size_t i = 0; i < 10; ++i) {
        float a = static_cast<float>(i) * std::numbers::pi_v<float> / 5;
        float radius = i % 2 == 0 ? r * 1.35F : r * 0.6F;
        points[i] = {c.x + radius * std::sin(a), c.y - radius * std::cos(a)};
      }
      for (std::size_t i = 0; i < 10; i += 2)  // a star is not convex: five points around a core
        d.AddTriangleFilled(points[(i + 9) % 10], points[i], points[i + 1], fill);
      std::array core{points[1], points[3], points[5], points[7], points[9]};
      d.AddConvexPolyFilled(core.data(), 5, fill);
      d.AddPolyline(points.data(), 10, edge, ImDrawFlags_Closed, stroke);
      break;
    }
    case Shape::plus: {
      float arm = r * 1.15F, half = r * 0.42F;
      d.AddRectFilled({c.x - arm, c.y - half}, {c.x + arm, c.y + half}, fill);
      d.AddRectFilled({c.x - half, c.y - arm}, {c.x + half, c.y + arm}, fill);
      std::array points{ImVec2{c.x - half, c.y - arm},  ImVec2{c.x + half, c.y - arm},
                        ImVec2{c.x + half, c.y - half}, ImVec2{c.x + arm, c.y - half},
                        ImVec2{c.x + arm, c.y + half},  ImVec2{c.x + half, c.y + half},
                        ImVec2{c.x + half, c.y + arm},  ImVec2{c.x - half, c.y + arm},
                        ImVec2{c.x - half, c.y + half}, ImVec2{c.x - arm, c.y + half},
                        ImVec2{c.x - arm, c.y - half},  ImVec2{c.x - half, c.y - half}};
      d.AddPolyline(points.data(), 12, edge, ImDrawFlags_Closed, stroke);
      break;
    }
    case Shape::half_disc: {
      float y = c.y + r * 0.6F, radius = r * 1.2F;
      d.PathArcTo({c.x, y}, radius, std::numbers::pi_v<float>, 2 * std::numbers::pi_v<float>, 16);
      d.PathFillConvex(fill);
      d.PathArcTo({c.x, y}, radius, std::numbers::pi_v<float>, 2 * std::numbers::pi_v<float>, 16);
      d.PathStroke(edge, ImDrawFlags_Closed, stroke);
      break;
    }
  }
}

float Canvas::heading(std::string_view name, std::string_view aside) {
  const Rect& a = area();
  float baseline = a.y + px(6) + fonts().cap_height(Type::title);
  constexpr Font title{Type::title, Weight::semibold};
  float width = text({a.x, baseline}, title, Ink::ink, name);
  if (focused()) {
    // The mark of the keyboard: a short strong rule under the name.
    s_.draw->AddRectFilled({a.x, baseline + px(6)}, {a.x + std::round(width), baseline + px(8)},
                           colour(Ink::focus));
  }
  if (!aside.empty()) {
    float room = a.w - width - s_.beside_name - px(16);
    if (room > px(40))
      text({a.right(), baseline}, {Type::fine}, Ink::soft,
           ellipsis(fonts(), {Type::fine}, aside, room), Align::right);
  }
  return a.y + heading_height();
}

float Canvas::heading_height() const {
  return px(6) + fonts().cap_height(Type::title) + px(15);
}

bool Canvas::press(std::string_view, Rect r) {
  bool hover = s_.pointer.over && r.contains(s_.pointer.at);
  if (hover) ImGui::SetMouseCursor(ImGuiMouseCursor_Hand);
  return hover && s_.pointer.pressed;
}

bool Canvas::button(std::string_view id, Rect r, std::string_view words, bool strong,
                    bool enabled) {
  bool hover = enabled && s_.pointer.over && r.contains(s_.pointer.at);
  float rounding = px(4);
  if (strong && enabled) {
    fill(r, Ink::rust, rounding, hover ? 0.88F : 1);
  } else {
    if (hover) fill(r, Ink::panel, rounding);
    // What cannot be pressed has no edge: in the theme of high contrast all edges are alike.
    if (enabled) outline(r, Ink::ink, rounding, std::max(1.0F, s_.fonts->scale()));
  }
  constexpr Font font{Type::text, Weight::medium};
  Ink ink = strong && enabled ? Ink::on_rust : enabled ? Ink::ink : Ink::soft;
  float baseline = baseline_in(r.y, r.h, font.type);
  text({r.x + r.w / 2, baseline}, font, ink, ellipsis(fonts(), font, words, r.w - px(8)),
       Align::centre);
  return enabled && press(id, r);
}

Rect Canvas::chip_size(ImVec2 at, std::string_view words) const {
  float width = 0;
  const auto lines = wrap(fonts(), {Type::fine}, words, std::numeric_limits<float>::max());
  for (auto [begin, end] : lines)
    width = std::max(width, fonts().width({Type::fine}, words.substr(begin, end - begin)));
  return {at.x, at.y, std::ceil(width) + px(18),
          px(22) + fonts().line_height(Type::fine) * static_cast<float>(lines.size() - 1)};
}

Rect Canvas::chip(ImVec2 at, std::string_view words, bool rust) {
  Rect r = chip_size(at, words);
  const float rounding = px(22) / 2;
  if (!rust) fill(r, Ink::panel, rounding);
  outline(r, rust ? Ink::rust : Ink::edge, rounding, std::max(1.0F, s_.fonts->scale()));
  float baseline = baseline_in(r.y, px(22), Type::fine);
  for (auto [begin, end] : wrap(fonts(), {Type::fine}, words, std::numeric_limits<float>::max())) {
    text({r.x + px(9), baseline}, {Type::fine}, rust ? Ink::rust : Ink::ink,
         words.substr(begin, end - begin));
    baseline += fonts().line_height(Type::fine);
  }
  return r;
}

Canvas::Typed Canvas::field(std::string_view id, Rect r, std::string& text, std::string_view hint,
                            Font font, FieldWish wish) {
  Typed typed;
  ImFont* face = fonts()(font);
  ImGui::PushFont(face);
  const Theme& t = theme();
  ImGui::PushStyleColor(ImGuiCol_FrameBg, ImVec4{0, 0, 0, 0});
  ImGui::PushStyleColor(ImGuiCol_Text, unpack(t[Ink::ink]));
  ImGui::PushStyleColor(ImGuiCol_TextDisabled, unpack(t[Ink::soft]));
  ImGui::PushStyleColor(ImGuiCol_TextSelectedBg, unpack(t[Ink::link], 0.3F));
  ImGui::PushStyleVar(ImGuiStyleVar_FramePadding, ImVec2{0, 0});
  ImGui::PushStyleVar(ImGuiStyleVar_FrameBorderSize, 0.0F);
  ImGui::SetCursorScreenPos({r.x, r.y + std::round((r.h - face->FontSize) / 2)});
  ImGui::PushItemWidth(r.w);
  const std::string name = "##" + std::string(id);
  const ImGuiID item = ImGui::GetID(name.c_str());
  const bool was_active = ImGui::GetActiveID() == item;
  if (wish.take_keyboard && !was_active) ImGui::SetKeyboardFocusHere();

  const std::string before = text;
  const bool replacing = wish.replacement && *wish.replacement;
  // While a field is active ImGui keeps its own copy of the text, which only its callback may
  // change.
  if (wish.replacement && *wish.replacement && !was_active) {
    text = std::exchange(*wish.replacement, std::nullopt).value();
  }
  auto replace = [](ImGuiInputTextCallbackData* data) {
    auto& replacement = *static_cast<std::optional<std::string>*>(data->UserData);
    if (!replacement) return 0;
    data->DeleteChars(0, data->BufTextLen);
    data->InsertChars(0, replacement->c_str());
    replacement.reset();
    return 0;
  };
  ImGuiInputTextFlags flags = ImGuiInputTextFlags_EnterReturnsTrue;
  if (wish.replacement) flags |= ImGuiInputTextFlags_CallbackAlways;
  if (wish.select_all) flags |= ImGuiInputTextFlags_AutoSelectAll;
  const OneLinePaste pasting;
  typed.entered = ImGui::InputTextWithHint(name.c_str(), std::string(hint).c_str(), &text, flags,
                                           wish.replacement ? +replace : nullptr, wish.replacement);
  typed.changed = text != before && !replacing;
  typed.active = ImGui::IsItemActive();
  typed.began = typed.active && !was_active;
  // ImGui selects all of a field that it is told to go to: the first letter would replace what was
  // half typed.
  if (typed.began && wish.take_keyboard && !wish.select_all)
    if (ImGuiInputTextState* state = ImGui::GetInputTextState(item)) state->ClearSelection();
  if (wish.give_up && typed.active && was_active) {
    ImGui::ClearActiveID();
    typed.active = false;
  }
  ImGui::PopItemWidth();
  ImGui::PopStyleVar(2);
  ImGui::PopStyleColor(4);
  ImGui::PopFont();
  return typed;
}

void Canvas::tip(Rect r, std::string_view words) {
  if (!s_.tips || !s_.pointer.over || !r.contains(s_.pointer.at) || words.empty()) return;
  ImDrawList& above = *ImGui::GetForegroundDrawList();
  constexpr Font font{Type::fine};
  float width = std::min(px(320), std::ceil(fonts().width(font, words)));
  auto lines = wrap(fonts(), font, words, width);
  float line = fonts().line_height(Type::fine);
  ImVec2 screen = ImGui::GetIO().DisplaySize;
  float w = width + px(16), h = line * static_cast<float>(lines.size()) + px(10);
  float x = std::clamp(s_.pointer.at.x + px(12), 0.0F, std::max(0.0F, screen.x - w));
  float y = s_.pointer.at.y + px(20);
  if (y + h > screen.y) y = s_.pointer.at.y - h - px(8);
  above.AddRectFilled({x, y}, {x + w, y + h}, colour(Ink::ink), px(3));
  float baseline = baseline_in(y + px(5), line, Type::fine);
  for (auto [begin, end] : lines) {
    fonts().run(&above, {x + px(8), baseline}, font, colour(Ink::ground),
                words.substr(begin, end - begin), false);
    baseline += line;
  }
}

}  // namespace stonecall::desk
