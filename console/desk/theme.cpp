#include "console/desk/theme.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace stonecall::desk {
namespace {

constexpr Rgb hex(std::uint32_t v) {
  return {static_cast<std::uint8_t>(v >> 16), static_cast<std::uint8_t>(v >> 8 & 0xFF),
          static_cast<std::uint8_t>(v & 0xFF)};
}

Theme make(ThemeName name, std::initializer_list<std::pair<Ink, std::uint32_t>> inks) {
  assert(inks.size() == static_cast<std::size_t>(Ink::count_));
  Theme theme;
  theme.name = name;
  for (auto [ink, value] : inks) theme.inks[static_cast<std::size_t>(ink)] = hex(value);
  return theme;
}

Rgb mix(Rgb a, Rgb b, double part_of_b) {
  auto blend = [&](std::uint8_t x, std::uint8_t y) {
    return static_cast<std::uint8_t>(std::lround(x + (y - x) * part_of_b));
  };
  return {blend(a.r, b.r), blend(a.g, b.g), blend(a.b, b.b)};
}

// Okabe & Ito: black is the theme's ink, so that it is seen at night too.
constexpr std::uint32_t blue = 0x0072B2, vermilion = 0xD55E00, orange = 0xE69F00, purple = 0xCC79A7,
                        green = 0x009E73, sky = 0x56B4E9, yellow = 0xF0E442;
constexpr std::array<std::optional<std::uint32_t>, 8> palette{
    blue, vermilion, std::nullopt, orange, purple, green, sky, yellow};

constexpr double least_graphic_contrast = 3.0;  // WCAG 2.2, 1.4.11

}  // namespace

std::string_view to_string(ThemeName name) {
  switch (name) {
    case ThemeName::paper:
      return "paper";
    case ThemeName::night:
      return "night";
    case ThemeName::contrast:
      return "contrast";
  }
  return "paper";
}

std::optional<ThemeName> theme_named(std::string_view text) {
  for (ThemeName name : all_themes)
    if (to_string(name) == text) return name;
  return std::nullopt;
}

const Theme& theme(ThemeName name) {
  static const Theme paper = make(ThemeName::paper, {{Ink::ground, 0xF6F1E5},
                                                     {Ink::panel, 0xEDE5D2},
                                                     {Ink::ink, 0x1E252D},
                                                     {Ink::soft, 0x5E6063},
                                                     {Ink::hairline, 0xDACFB8},
                                                     {Ink::grid, 0xE7DFCD},
                                                     {Ink::edge, 0xCBBE9E},
                                                     {Ink::band, 0xE7DBC0},
                                                     {Ink::walked, 0x8B8267},
                                                     {Ink::rust, 0xAE3D1B},
                                                     {Ink::rust_soft, 0xEBD0C2},
                                                     {Ink::on_rust, 0xFFFAF2},
                                                     {Ink::link, 0x0A659E},
                                                     {Ink::focus, 0x1E252D},
                                                     {Ink::chosen, 0xEAE0C9}});
  static const Theme night = make(ThemeName::night, {{Ink::ground, 0x191816},
                                                     {Ink::panel, 0x25231E},
                                                     {Ink::ink, 0xE8E0D0},
                                                     {Ink::soft, 0xA79F8F},
                                                     {Ink::hairline, 0x3B382F},
                                                     {Ink::grid, 0x2A2823},
                                                     {Ink::edge, 0x555040},
                                                     {Ink::band, 0x39342A},
                                                     {Ink::walked, 0x8F866C},
                                                     {Ink::rust, 0xE87F57},
                                                     {Ink::rust_soft, 0x4A2D21},
                                                     {Ink::on_rust, 0x1B120E},
                                                     {Ink::link, 0x74B5E2},
                                                     {Ink::focus, 0xE8E0D0},
                                                     {Ink::chosen, 0x312E26}});
  static const Theme high = make(ThemeName::contrast, {{Ink::ground, 0xFFFFFF},
                                                       {Ink::panel, 0xF1F1F1},
                                                       {Ink::ink, 0x000000},
                                                       {Ink::soft, 0x333333},
                                                       {Ink::hairline, 0x767676},
                                                       {Ink::grid, 0xC4C4C4},
                                                       {Ink::edge, 0x000000},
                                                       {Ink::band, 0xCFCFCF},
                                                       {Ink::walked, 0x4A4A4A},
                                                       {Ink::rust, 0x9C2400},
                                                       {Ink::rust_soft, 0xFFD6C7},
                                                       {Ink::on_rust, 0xFFFFFF},
                                                       {Ink::link, 0x004C80},
                                                       {Ink::focus, 0x000000},
                                                       {Ink::chosen, 0xFFF0BF}});
  switch (name) {
    case ThemeName::paper:
      return paper;
    case ThemeName::night:
      return night;
    case ThemeName::contrast:
      return high;
  }
  return paper;
}

KindInk kind_ink(const Theme& theme, std::optional<std::size_t> index) {
  if (!index) return {Shape::circle, theme[Ink::ground], theme[Ink::soft], theme[Ink::soft]};
  auto published = palette[*index % palette.size()];
  KindInk kind;
  kind.shape = static_cast<Shape>(*index % static_cast<std::size_t>(Shape::count_));
  kind.fill = published ? hex(*published) : theme[Ink::ink];
  kind.line = kind.fill;
  for (double part = 0;
       contrast(kind.line, theme[Ink::ground]) < least_graphic_contrast && part < 1; part += 0.02)
    kind.line = mix(kind.fill, theme[Ink::ink], part);
  kind.outline = kind.line;
  return kind;
}

double contrast(Rgb a, Rgb b) {
  auto luminance = [](Rgb c) {
    auto linear = [](std::uint8_t channel) {
      double v = channel / 255.0;
      return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * linear(c.r) + 0.7152 * linear(c.g) + 0.0722 * linear(c.b);
  };
  double la = luminance(a), lb = luminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

}  // namespace stonecall::desk
