#include "console/charts/svg.hpp"

#include <cmath>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "console/charts/mark.hpp"
#include "tests/charts/specimens.hpp"

using namespace stonecall::charts;

namespace {

std::string file_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

/// Compares with a picture in golden/; the picture as it is now is left in the build folder, to be
/// looked at and, where the change is meant, copied there.
void check_golden(const std::string& name, const Chart& chart) {
  std::string drawn = svg(chart, print_palette(), {.id = name, .standalone = true});
  std::ofstream(name + ".svg", std::ios::binary) << drawn;
  INFO("drawn now: " << name << ".svg in the folder of this test program");
  bool as_before = drawn == file_text(std::string(STONECALL_GOLDEN_CHARTS) + "/" + name + ".svg");
  CHECK(as_before);
}

}  // namespace

TEST_CASE("shares of the ground stand as dot and interval on one axis, with names and figures") {
  check_golden("shares-of-the-ground", interval_rows(specimens::shares()));
}

TEST_CASE("gain here falls below gain elsewhere where the decision is marked") {
  check_golden("stay-or-move", crossing(specimens::stay_or_move()));
}

TEST_CASE("kinds met are solid up to now and dashed beyond") {
  check_golden("kinds-met", growth(specimens::kinds_met()));
}

TEST_CASE("ground seen from above has ways, names, samples, scale and north") {
  auto view = specimens::ground();
  check_golden("ground-from-above", plan_view(view, 500, 260, fitted(view, 500, 260)).chart);
}

TEST_CASE("a timeline has the plan above the line and the walk below") {
  check_golden("planned-and-walked", timeline(specimens::day()));
}

TEST_CASE("text cannot leave its place in the SVG, whatever it holds") {
  Chart chart{
      .width = 100, .height = 20, .title = "</title><script>", .description = "\"&'", .items = {}};
  chart.items.push_back(Label{.at = {0, 10}, .text = "]]></text><script>alert(1)</script>"});
  std::string text = svg(chart, print_palette(), {.id = "x\" onload=\"y"});
  CHECK(text.find("<script>") == std::string::npos);
  CHECK(text.find("&lt;/title&gt;&lt;script&gt;") != std::string::npos);
  CHECK(text.find("&quot;&amp;&#39;") != std::string::npos);
  CHECK(text.find("onload=\"") == std::string::npos);
}

TEST_CASE("what no XML text may hold is replaced, not written") {
  using namespace std::string_literals;
  CHECK(xml_escaped("a\x01 b\x7f"s) == "a\uFFFD b\uFFFD");
  CHECK(xml_escaped("nul\0here"s) == "nul\uFFFDhere");
  CHECK(xml_escaped("cut \xE2\x82"s) == "cut \uFFFD\uFFFD");
  CHECK(xml_escaped("overlong \xC0\xAF"s) == "overlong \uFFFD\uFFFD");
  CHECK(xml_escaped("half \xED\xA0\x80"s) == "half \uFFFD\uFFFD\uFFFD");
  CHECK(xml_escaped("no character \xEF\xBF\xBF"s) == "no character \uFFFD\uFFFD\uFFFD");
  CHECK(xml_escaped("Ångström 5 °") == "Ångström 5 °");
}

TEST_CASE("a chart can be read without seeing it") {
  std::string text = svg(growth(specimens::kinds_met()), print_palette(), {.id = "k"});
  CHECK(text.find("role=\"img\" aria-labelledby=\"k-title k-desc\"") != std::string::npos);
  CHECK(text.find("<title id=\"k-title\">Kinds met as rocks are looked at</title>") !=
        std::string::npos);
  CHECK(text.find("<desc id=\"k-desc\">44 rocks looked at") != std::string::npos);
}

TEST_CASE("a number that is not finite leaves its item out and the rest stands") {
  Chart chart{.width = std::nan(""), .height = 20, .title = "t", .description = "d", .items = {}};
  double bad = GENERATE(HUGE_VAL, -HUGE_VAL, std::nan(""), 1e300);
  chart.items = {Line{{0, bad}, {1, 1}, {}},
                 Polyline{{{bad, 0}, {1, 1}}, {}},
                 Band{{{bad, 0, 1}, {1, 0, 1}}},
                 Block{{0, 0, bad, 1}, Colour{}, {}},
                 Mark{.at = {bad, 0}},
                 Label{.at = {0, bad}, .text = "gone"},
                 Label{.at = {5, 5}, .text = "stays"}};
  std::string text = svg(chart);
  CHECK(text.find("nan") == std::string::npos);
  CHECK(text.find("inf") == std::string::npos);
  CHECK(text.find("gone") == std::string::npos);
  CHECK(text.find("stays") != std::string::npos);
}

TEST_CASE("nine marks differ in outline, so that kinds are told apart without colour") {
  for (std::size_t a = 0; a < static_cast<std::size_t>(MarkShape::count_); ++a)
    for (std::size_t b = 0; b < a; ++b)
      CHECK(mark_outline(series_shape(a), 10) != mark_outline(series_shape(b), 10));
}

TEST_CASE("no mark shouts: areas of marks of one size differ less than threefold") {
  double least = 1e9, most = 0;
  for (std::size_t i = 0; i < static_cast<std::size_t>(MarkShape::count_); ++i) {
    auto outline = mark_outline(series_shape(i), 10);
    double twice = 0;
    for (std::size_t k = 0; k < outline.size(); ++k) {
      Point p = outline[k], q = outline[(k + 1) % outline.size()];
      twice += p.x * q.y - q.x * p.y;
    }
    least = std::min(least, std::abs(twice) / 2);
    most = std::max(most, std::abs(twice) / 2);
  }
  CHECK(most / least < 3);
}

TEST_CASE("shape and colour together repeat only after 72 series") {
  for (std::size_t n = 1; n < 72; ++n)
    CHECK_FALSE((series_shape(n) == series_shape(0) && n % print_palette().series.size() == 0));
}

// WCAG 2.2, success criteria 1.4.3 and 1.4.11; contrast ratio as defined there.
TEST_CASE("printed text has a contrast of 4.5 and thin marks of 3 on the paper") {
  auto luminance = [](std::uint32_t rgb) {
    auto channel = [&](int shift) {
      double v = (rgb >> shift & 0xFF) / 255.0;
      return v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
    };
    return 0.2126 * channel(16) + 0.7152 * channel(8) + 0.0722 * channel(0);
  };
  const Palette& p = print_palette();
  auto on_paper = [&](std::uint32_t c) {
    return (luminance(p[Tone::ground]) + 0.05) / (luminance(c) + 0.05);
  };
  for (Tone tone : {Tone::ink, Tone::soft, Tone::alert, Tone::link})
    CHECK(on_paper(p[tone]) >= 4.5);
  for (std::uint32_t c : p.series_edge) CHECK(on_paper(c) >= 3.0);
}
