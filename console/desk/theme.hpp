#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "console/charts/chart.hpp"

/// Colours by what they are for. No region names a colour by its value.
namespace stonecall::desk {

struct Rgb {
  std::uint8_t r = 0, g = 0, b = 0;
  bool operator==(const Rgb&) const = default;
};

/// The roles a colour can have on the desk.
enum class Ink : std::uint8_t {
  ground,     ///< the paper itself
  panel,      ///< a tinted area: the advised call, a chip, a planned station
  ink,        ///< text and data
  soft,       ///< second text: labels, units, what something rests on
  hairline,   ///< rules between regions and rows
  grid,       ///< rules inside a chart, fainter than a hairline
  edge,       ///< outline of a chip, a field, a button
  band,       ///< the area of an interval around a curve
  walked,     ///< the bar of a station as walked
  rust,       ///< wants action: text and marks on ground or panel
  rust_soft,  ///< the area of something that wants action
  on_rust,    ///< text on an area filled with rust
  link,       ///< the comparison: elsewhere, another place
  focus,      ///< outline of what has the keyboard
  chosen,     ///< the area behind a chosen row
  count_
};

enum class ThemeName : std::uint8_t { paper, night, contrast };

inline constexpr std::array all_themes{ThemeName::paper, ThemeName::night, ThemeName::contrast};
std::string_view to_string(ThemeName name);  ///< "paper", "night", "contrast"
std::optional<ThemeName> theme_named(std::string_view text);

/// Shapes a rock kind can have; the glyph says the kind where the colour cannot be told.
using Shape = charts::MarkShape;

/// How a rock kind is drawn. `fill` is the published colour, `line` the same hue made strong enough
/// (3:1 or more on the ground) for thin strokes, `outline` the edge drawn around the fill.
struct KindInk {
  Shape shape = Shape::circle;
  Rgb fill, line, outline;
};

struct Theme {
  ThemeName name = ThemeName::paper;
  std::array<Rgb, static_cast<std::size_t>(Ink::count_)> inks{};

  const Rgb& operator[](Ink role) const { return inks[static_cast<std::size_t>(role)]; }
};

const Theme& theme(ThemeName name);

/// The look of the rock kind at `index` of the plan's vocabulary. Colours are those of Okabe & Ito,
/// "Color Universal Design" (2002, revised 2008), in an order that keeps neighbours apart; shape
/// and colour together repeat only after 72 kinds. No index: the class "other", an open ring in
/// soft ink.
KindInk kind_ink(const Theme& theme, std::optional<std::size_t> index);

/// Contrast ratio of two colours, 1–21, after WCAG 2.2 ("contrast ratio", "relative luminance").
double contrast(Rgb a, Rgb b);

}  // namespace stonecall::desk
