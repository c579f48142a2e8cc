#include "console/desk/theme.hpp"

#include <catch2/catch.hpp>

using namespace stonecall::desk;

namespace {
constexpr double text = 4.5;     // WCAG 2.2, 1.4.3 Contrast (Minimum)
constexpr double graphic = 3.0;  // WCAG 2.2, 1.4.11 Non-text Contrast
}  // namespace

TEST_CASE("contrast is reckoned as WCAG 2.2 defines it") {
  // By the definition itself: white on black 21:1, a colour on itself 1:1.
  CHECK(contrast({255, 255, 255}, {0, 0, 0}) == Approx(21.0));
  CHECK(contrast({10, 90, 160}, {10, 90, 160}) == Approx(1.0));
  // #767676 on white passes 4.5 and #777777 just fails: W3C, "Understanding SC 1.4.3", widely used
  // worked example (from memory).
  CHECK(contrast({0x76, 0x76, 0x76}, {255, 255, 255}) == Approx(4.54).margin(0.01));
  CHECK(contrast({0x77, 0x77, 0x77}, {255, 255, 255}) < 4.5);
}

TEST_CASE("every text of every theme can be read on every ground it stands on") {
  auto name = GENERATE(ThemeName::paper, ThemeName::night, ThemeName::contrast);
  const Theme& t = theme(name);
  CAPTURE(to_string(name));
  auto on = GENERATE(Ink::ground, Ink::panel, Ink::chosen);
  CAPTURE(static_cast<int>(on));
  for (Ink ink : {Ink::ink, Ink::soft, Ink::rust, Ink::link}) {
    CAPTURE(static_cast<int>(ink));
    CHECK(contrast(t[ink], t[on]) >= text);
  }
  CHECK(contrast(t[Ink::on_rust], t[Ink::rust]) >= text);
  CHECK(contrast(t[Ink::ink], t[Ink::rust_soft]) >= text);
}

TEST_CASE("every mark that carries meaning stands out from its ground") {
  auto name = GENERATE(ThemeName::paper, ThemeName::night, ThemeName::contrast);
  const Theme& t = theme(name);
  CAPTURE(to_string(name));
  for (Ink ink : {Ink::walked, Ink::rust, Ink::link, Ink::focus, Ink::ink}) {
    CAPTURE(static_cast<int>(ink));
    CHECK(contrast(t[ink], t[Ink::ground]) >= graphic);
  }
}

TEST_CASE("every rock kind has an edge and a line that stand out, in all themes") {
  auto name = GENERATE(ThemeName::paper, ThemeName::night, ThemeName::contrast);
  const Theme& t = theme(name);
  for (std::size_t kind = 0; kind < 16; ++kind) {
    CAPTURE(to_string(name), kind);
    KindInk ink = kind_ink(t, kind);
    CHECK(contrast(ink.line, t[Ink::ground]) >= graphic);
    CHECK(contrast(ink.outline, t[Ink::ground]) >= graphic);
  }
  KindInk other = kind_ink(t, std::nullopt);
  CHECK(contrast(other.outline, t[Ink::ground]) >= graphic);
}

TEST_CASE("two rock kinds never share both colour and glyph among the first 72") {
  const Theme& t = theme(ThemeName::paper);
  for (std::size_t a = 0; a < 72; ++a)
    for (std::size_t b = a + 1; b < 72; ++b) {
      KindInk ka = kind_ink(t, a), kb = kind_ink(t, b);
      if (ka.shape == kb.shape && ka.fill == kb.fill)
        FAIL("kinds " << a << " and " << b << " look the same");
    }
}

TEST_CASE("a theme is found by its name and no other") {
  CHECK(theme_named("night") == ThemeName::night);
  CHECK_FALSE(theme_named("dark").has_value());
}
