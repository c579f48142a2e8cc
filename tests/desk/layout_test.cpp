#include "console/desk/layout.hpp"

#include <set>

#include <catch2/catch.hpp>

using namespace stonecall::desk;

namespace {

struct Size {
  float width, height, scale;
};

bool overlap(const Rect& a, const Rect& b) {
  return a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
}

}  // namespace

TEST_CASE(
    "no region is clipped by the window or lies over another, from half a laptop screen to a wall "
    "display") {
  auto size = GENERATE(Size{1280, 720, 1}, Size{640, 720, 1}, Size{960, 1080, 1},
                       Size{1600, 900, 1}, Size{1920, 1080, 1}, Size{1920, 1080, 1.5F},
                       Size{2560, 1440, 1}, Size{3840, 2160, 1}, Size{3840, 2160, 2},
                       Size{1600, 900, 0.8F}, Size{1280, 720, 1.5F}, Size{1280, 720, 2});
  CAPTURE(size.width, size.height, size.scale);
  Layout layout = lay_out(size.width, size.height, size.scale, {});
  std::vector<Rect> all{layout.hours, layout.entry};
  for (const Slot& slot : layout.slots) {
    all.push_back(slot.area);
    CHECK(slot.area.h >= 40 * size.scale);
  }
  for (std::size_t i = 0; i < all.size(); ++i) {
    CHECK(all[i].x >= 0);
    CHECK(all[i].y >= 0);
    CHECK(all[i].right() <= size.width);
    CHECK(all[i].bottom() <= size.height);
    for (std::size_t j = i + 1; j < all.size(); ++j) CHECK_FALSE(overlap(all[i], all[j]));
  }
}

TEST_CASE("every region has a place, alone or with others") {
  auto width = GENERATE(640.0F, 1000.0F, 1280.0F, 1600.0F, 3840.0F);
  auto height = GENERATE(480.0F, 720.0F, 1200.0F);
  Layout layout = lay_out(width, height, 1, {});
  std::set<RegionId> placed;
  for (const Slot& slot : layout.slots)
    for (RegionId region : slot.regions) CHECK(placed.insert(region).second);
  CHECK(placed ==
        std::set<RegionId>{RegionId::heard, RegionId::kinds, RegionId::call, RegionId::ground});
}

TEST_CASE("where regions share a place the one looked at last is shown") {
  using enum RegionId;
  Layout low = lay_out(640, 480, 1, {entry, ground, kinds});
  REQUIRE(low.slots.size() == 1);
  CHECK(low.slots[0].shown == ground);
  CHECK(low.slots[0].names.h > 0);
  // Half a screen has room for the call and what it rests on.
  for (float scale : {1.0F, 1.5F}) {
    Layout half = lay_out(640 * scale, 720 * scale, scale, {entry, ground, kinds});
    REQUIRE(half.slots.size() == 2);
    CHECK(half.slots[0].shown == ground);
    CHECK(half.slots[1].shown == kinds);
    CHECK(lay_out(640 * scale, 720 * scale, scale, {}).slot_of(call));
  }
}

TEST_CASE("from half a screen on the call stays in sight while Heard and Kinds are looked at") {
  using enum RegionId;
  struct Window {
    float width, height, scale;
  };
  const auto window = GENERATE(Window{960, 1080, 1}, Window{960, 1080, 1.5F},
                               Window{1280, 720, 1.25F}, Window{1280, 720, 1.5F});
  CAPTURE(window.width, window.height, window.scale);
  for (RegionId looked_at : {heard, kinds}) {
    const Layout layout = lay_out(window.width, window.height, window.scale, {looked_at});
    CHECK(layout.slot_of(call));
    CHECK(layout.slot_of(looked_at));
  }
}

TEST_CASE("Ground takes what Call does not need, and shares its place where both have no room") {
  using enum RegionId;
  const auto with_need = [](float width, float height, float need) {
    return lay_out(width, height, 1, {}, [need](RegionId region, float) {
      return region == call ? Wanted{need, need + 60} : Wanted{};
    });
  };
  for (auto [width, height] : {std::pair{1600.0F, 900.0F}, std::pair{1280.0F, 720.0F}}) {
    CAPTURE(width, height);
    const Layout little = with_need(width, height, 240);
    REQUIRE(little.slot_of(call));
    REQUIRE(little.slot_of(ground));
    CHECK(little.slot_of(call)->area.h >= 240);
    CHECK(little.slot_of(call)->area.h <= 300);
    CHECK(little.slot_of(ground)->area.h >= 200);
    if (little.slot_of(ground)->area.h > 200) CHECK(little.slot_of(call)->area.h == 300);
    const Layout much = with_need(width, height, 600);
    REQUIRE(much.slot_of(call));
    CHECK(much.slot_of(call)->area.h >= 400);
    if (much.slot_of(ground)) CHECK(much.slot_of(ground)->area.h >= 200);
  }
  CHECK_FALSE(with_need(1280, 720, 600).slot_of(ground));
}

TEST_CASE("the margin is 24 pixels times the scale") {
  CHECK(lay_out(1600, 900, 1, {}).hours.x == 24);
  CHECK(lay_out(3200, 1800, 2, {}).hours.x == 48);
}

TEST_CASE("in a very low window the ruler makes room for the others until Hours is looked at") {
  using enum RegionId;
  const Layout looking_at_call = lay_out(1280, 720, 2, {call, hours});
  const Layout looking_at_hours = lay_out(1280, 720, 2, {hours, call});
  CHECK(looking_at_call.hours.h < looking_at_hours.hours.h);
  REQUIRE(looking_at_call.slot_of(call));
  CHECK(looking_at_call.slot_of(call)->area.h >= 180 * 2);
  CHECK(lay_out(1280, 720, 1, {call}).hours.h == lay_out(1280, 720, 1, {hours}).hours.h);
}
