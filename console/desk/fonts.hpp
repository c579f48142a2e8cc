#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include <imgui.h>

/// Type on the desk: one face (Inter), five sizes, three weights.
namespace stonecall::desk {

/// The five sizes, in pixels of the em at 100 %.
enum class Type : std::uint8_t {
  figure,  ///< 32: the large clocks
  title,   ///< 17: a region's name, the advised call
  lead,    ///< 15: names of kinds, counts, the entry line
  text,    ///< 14: what was said, sentences
  fine     ///< 12: labels, axes, chips
};
inline constexpr std::array em_pixels{32, 17, 15, 14, 12};

enum class Weight : std::uint8_t { regular, medium, semibold };

struct Font {
  Type type = Type::text;
  Weight weight = Weight::regular;
};

/// The fonts of one scale. They live in the atlas of the current ImGui context; build() replaces
/// them all, so nobody keeps an ImFont pointer between frames: keep a Font and ask again.
class Fonts {
 public:
  /// Clears the atlas and fills it anew. Call between frames only. `scale`: 0.8–8 (user scale ×
  /// display scale).
  void build(ImFontAtlas& atlas, float scale);

  ImFont* operator()(Font font) const { return fonts_[index(font)]; }
  float scale() const { return scale_; }

  /// Whole pixels of the em at this scale.
  int em(Type type) const;
  /// Distance from baseline to baseline for running text, whole pixels.
  float line_height(Type type) const;
  /// Height of a capital above the baseline.
  float cap_height(Type type) const;

  /// Width in pixels of a line of text, as Canvas::text draws it.
  float width(Font font, std::string_view text) const;
  /// Width as Canvas::figures draws it: each digit takes one cell.
  float figures_width(Font font, std::string_view text) const;
  /// The cell that a digit takes in Canvas::figures.
  float digit_cell(Font font) const;
  /// The face's own advance of one sign, not rounded.
  float advance(Font font, char32_t sign) const;

  /// Draws a line from the left end of its baseline, each letter on whole pixels, and returns its
  /// width; with no draw list only measures. `cells`: digits in cells of equal advance.
  float run(ImDrawList* draw, ImVec2 at, Font font, ImU32 colour, std::string_view text,
            bool cells) const;

 private:
  static std::size_t index(Font f) {
    return static_cast<std::size_t>(f.type) * 3 + static_cast<std::size_t>(f.weight);
  }
  std::array<ImFont*, 15> fonts_{};
  std::array<std::vector<float>, 15> advances_;
  float scale_ = 1;
};

/// One line of a wrapped text: bytes [begin, end) of it, without the blank it broke at.
struct WrappedLine {
  std::size_t begin = 0, end = 0;
  bool operator==(const WrappedLine&) const = default;
};

/// Breaks at blanks, and inside a word that alone is wider than `width`; a line feed always breaks.
/// A figure is parted from its unit or its interval only where a line has no other blank.
/// An empty text is one empty line. Never splits a UTF-8 sequence.
std::vector<WrappedLine> wrap(const Fonts& fonts, Font font, std::string_view text, float width);

/// The text cut so that with an ellipsis it fits `width`; the text itself where it fits.
std::string ellipsis(const Fonts& fonts, Font font, std::string_view text, float width);

}  // namespace stonecall::desk
