#include <cmath>
#include <cstdlib>
#include <filesystem>

#include <catch2/catch.hpp>
#include <png.h>

#include "console/advise/assessment.hpp"
#include "console/advise/memory.hpp"
#include "console/desk/replay_source.hpp"
#include "console/desk/run.hpp"
#include "tests/desk/display.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

// The desk as it looked when it was last looked at, by theme, a quarter as large and with few
// shades: enough to notice a region that is gone, moved, empty or of another colour, and not which
// FreeType smoothed a letter. After a change that was meant, and looked at:
// STONECALL_NEW_PICTURES=tests/desk/pictures test_desk "the desk looks as*"

namespace {

constexpr int smaller = 4, shades = 16;

/// The mean of each square of pixels, in few shades.
Image small(const Image& large) {
  Image out{large.width / smaller, large.height / smaller, {}};
  for (int y = 0; y < out.height; ++y)
    for (int x = 0; x < out.width; ++x)
      for (int channel = 0; channel < 3; ++channel) {
        int sum = 0;
        for (int i = 0; i < smaller * smaller; ++i) {
          const int row = y * smaller + i / smaller, column = x * smaller + i % smaller;
          sum += large.rgb[static_cast<std::size_t>((row * large.width + column) * 3 + channel)];
        }
        const int mean = sum / (smaller * smaller);
        out.rgb.push_back(static_cast<std::uint8_t>(mean / shades * shades));
      }
  return out;
}

Image read_png(const std::filesystem::path& file) {
  png_image read{};
  read.version = PNG_IMAGE_VERSION;
  Image out;
  if (!png_image_begin_read_from_file(&read, file.c_str())) return out;
  read.format = PNG_FORMAT_RGB;
  out.width = static_cast<int>(read.width);
  out.height = static_cast<int>(read.height);
  out.rgb.resize(PNG_IMAGE_SIZE(read));
  if (!png_image_finish_read(&read, nullptr, out.rgb.data(), 0, nullptr)) return {};
  return out;
}

/// Part of the pixels that differ by more than two shades; 1 where the sizes do.
double apart(const Image& a, const Image& b) {
  if (a.width != b.width || a.height != b.height || a.rgb.size() != b.rgb.size()) return 1;
  std::size_t differ = 0;
  for (std::size_t i = 0; i < a.rgb.size(); i += 3) {
    int most = 0;
    for (std::size_t channel = 0; channel < 3; ++channel)
      most = std::max(most, std::abs(a.rgb[i + channel] - b.rgb[i + channel]));
    differ += most > 2 * shades ? 1 : 0;
  }
  return static_cast<double>(differ) * 3 / static_cast<double>(a.rgb.size());
}

constexpr double tolerated = 0.01;

/// The recorded exercise at 1:12, with its figures and its advice.
std::shared_ptr<const View> recorded() {
  ReplaySetup setup;
  setup.events = hallow_beck();
  setup.name = "hallow_beck.jsonl";
  Workers workers;
  workers.assess = [](const stonecall::picture::Picture& picture, stonecall::protocol::Instant now,
                      stonecall::advise::Memory& memory) {
    return std::make_shared<const stonecall::advise::Assessment>(
        stonecall::advise::assess_with_advice(picture, now, memory));
  };
  ReplaySource source(std::move(setup), std::move(workers), {});
  source.seek(source.begin() + 72min);
  source.settle();
  return source.view();
}

Image drawn(const View& view, ThemeName theme, RegionId sheet = RegionId::heard) {
  Desk desk;
  desk.settings.width = 1280;
  desk.settings.height = 720;
  desk.settings.theme = theme;
  focus_on(desk, sheet);
  auto image = screenshot(desk, view, {});
  if (!image) FAIL(stonecall::protocol::to_string(image.error()));
  return small(*image);
}

std::filesystem::path kept(ThemeName theme) {
  return std::filesystem::path(STONECALL_TESTS_DESK) / "pictures" /
         (std::string(to_string(theme)) + ".png");
}

}  // namespace

TEST_CASE("the desk looks as it did when it was last looked at, in every theme") {
  const Display display;
  REQUIRE(display.up());
  const auto view = recorded();
  for (ThemeName theme : all_themes) {
    const Image now = drawn(*view, theme);
    if (const char* folder = std::getenv("STONECALL_NEW_PICTURES")) {
      const auto file = std::filesystem::path(folder) / kept(theme).filename();
      REQUIRE(write_png(now, file.string()));
      continue;
    }
    CAPTURE(to_string(theme));
    CHECK(apart(read_png(kept(theme)), now) <= tolerated);
  }
}

TEST_CASE("the comparison notices a sheet, another theme, and a region that has lost its figures") {
  const Display display;
  REQUIRE(display.up());
  const auto view = recorded();
  const Image usual = drawn(*view, ThemeName::paper);
  CHECK(apart(usual, drawn(*view, ThemeName::paper, RegionId::plan)) > tolerated);
  CHECK(apart(usual, drawn(*view, ThemeName::night)) > tolerated);
  View without = *view;
  without.assessment.reset();
  CHECK(apart(usual, drawn(without, ThemeName::paper)) > tolerated);
}
