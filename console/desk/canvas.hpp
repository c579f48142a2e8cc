#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <imgui.h>

#include "console/desk/clock_text.hpp"
#include "console/desk/command.hpp"
#include "console/desk/fonts.hpp"
#include "console/desk/theme.hpp"

namespace stonecall::desk {

struct Rect {
  float x = 0, y = 0, w = 0, h = 0;

  float right() const { return x + w; }
  float bottom() const { return y + h; }
  bool contains(ImVec2 p) const { return p.x >= x && p.x < right() && p.y >= y && p.y < bottom(); }
  Rect inset(float dx, float dy) const { return {x + dx, y + dy, w - 2 * dx, h - 2 * dy}; }
};

enum class Align { left, centre, right };

/// The pointer as a region sees it; everything false where it is over another region (a drag stays
/// with the region it began in).
struct Pointer {
  ImVec2 at{-1e6F, -1e6F};
  bool over = false;      ///< over this region
  bool pressed = false;   ///< left button went down this frame
  bool held = false;      ///< left button down, pressed in this region
  bool released = false;  ///< left button came up, pressed in this region
  bool twice = false;     ///< double click this frame
  ImVec2 moved{0, 0};     ///< since the frame before, while held
  float wheel = 0;        ///< notches, up is positive
};

/// What a region draws with: where, in which colours and type, what the hands do. Made anew each
/// frame.
class Canvas {
 public:
  /// A text as it was drawn: its capitals stand in `place`.
  struct Written {
    std::string text;
    Rect place;
  };
  struct Setup {
    RegionId region{};
    Rect area;
    const Theme* theme = nullptr;
    const Fonts* fonts = nullptr;
    ClockText clock;
    Pointer pointer;
    bool focused = false;
    float beside_name = 0;  ///< room for other names right of the region's own, screen pixels
    std::span<const std::string_view> asked;  ///< ids of KeyLines pressed for this region, in order
    const Chosen* chosen = nullptr;
    ImDrawList* draw = nullptr;
    bool tips = true;                         ///< words may stand beside the pointer
    std::vector<std::string>* cut = nullptr;  ///< takes texts that are cut at an edge
    std::vector<Written>* written = nullptr;  ///< takes all texts
  };
  explicit Canvas(const Setup& setup);

  const Rect& area() const { return s_.area; }
  ImDrawList& draw() { return *s_.draw; }
  const Theme& theme() const { return *s_.theme; }
  const Fonts& fonts() const { return *s_.fonts; }
  const ClockText& clock() const { return s_.clock; }
  const Pointer& pointer() const { return s_.pointer; }
  const Chosen& chosen() const { return *s_.chosen; }
  bool focused() const { return s_.focused; }
  float beside_name() const { return s_.beside_name; }
  bool asked(std::string_view id) const;  ///< was the key line pressed this frame?

  /// Design pixels (at 100 %) to screen pixels, whole.
  float px(float design) const;
  /// The baseline of a line whose capitals stand in the middle of a row.
  float baseline_in(float top, float height, Type type) const;
  ImU32 colour(Ink role, float alpha = 1) const;
  ImU32 colour(Rgb rgb, float alpha = 1) const;

  // Text. `at` is the left (centre, right) end of the *baseline*. Each returns the width drawn.
  float text(ImVec2 at, Font font, Ink ink, std::string_view s, Align align = Align::left);
  /// Digits in cells of equal advance, so that columns and running clocks stand still.
  float figures(ImVec2 at, Font font, Ink ink, std::string_view s, Align align = Align::left);
  /// Wrapped to `width`; returns the height used (lines × line height). `at` is the first baseline.
  float paragraph(ImVec2 at, Font font, Ink ink, std::string_view s, float width);

  // Lines and areas, on whole pixels.
  void rule(float x0, float x1, float y, Ink ink = Ink::hairline);     ///< a hairline across
  void upright(float x, float y0, float y1, Ink ink = Ink::hairline);  ///< a hairline down
  void fill(Rect r, Ink ink, float rounding = 0, float alpha = 1);
  void outline(Rect r, Ink ink, float rounding = 0, float thickness = 1);
  void chosen_ground(Rect row);  ///< of a row that is chosen, a little wider than the row
  /// The glyph of a rock kind around `centre`; `size` is its width in screen pixels.
  void glyph(ImVec2 centre, float size, const KindInk& kind);

  /// The heading of a region: its name in semibold, to its right end a line of soft text. Returns
  /// the y below it where the content begins.
  float heading(std::string_view name, std::string_view aside = {});
  float heading_height() const;  ///< from the region's upper edge to where the content begins

  // Things to press. Drawn in our look; `id` is unique in the region.
  bool button(std::string_view id, Rect r, std::string_view words, bool strong = false,
              bool enabled = true);
  /// A word or a row that can be pressed; draws nothing but the hover and focus marks.
  bool press(std::string_view id, Rect r);
  /// A chip at (x, y) top left; returns its rectangle. `rust`: wants a decision. A line feed in the
  /// words begins another line.
  Rect chip(ImVec2 at, std::string_view words, bool rust = false);
  Rect chip_size(ImVec2 at, std::string_view words) const;

  struct Typed {
    bool changed = false;  ///< the hands changed the text
    bool entered = false;  ///< Enter was pressed
    bool began = false;    ///< it got the keyboard in this frame, by key or pointer
    bool active = false;   ///< it has the keyboard
  };
  struct FieldWish {
    bool take_keyboard = false;  ///< put the cursor there (nothing happens where it already is)
    bool give_up = false;        ///< take the cursor away, unless it was put there in this frame
    bool select_all = false;     ///< what stands there is selected as soon as it has the keyboard
    std::optional<std::string>* replacement =
        nullptr;  ///< text to stand there instead; taken out once it does
  };
  /// One line of typing on the bare ground; draws no frame.
  Typed field(std::string_view id, Rect r, std::string& text, std::string_view hint, Font font,
              FieldWish wish);
  /// Words shown beside the pointer when it rests on `r`, until the hands go to the keyboard.
  void tip(Rect r, std::string_view words);

 private:
  void note(ImVec2 baseline, float width, Font font, std::string_view s) const;
  Setup s_;
};

}  // namespace stonecall::desk
