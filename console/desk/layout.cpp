#include "console/desk/layout.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::desk {
namespace {

// Design pixels, at 100 %.
constexpr float margin = 24;
constexpr float gutter = 32;     // between columns; the hairline stands in its middle
constexpr float stack_gap = 20;  // between regions of a column
constexpr float hours_high = 180;
constexpr float hours_low = 156;
constexpr float hours_without_ruler = 82;
constexpr float entry_high = 40;
constexpr float names_high = 24;
// On a wall display lines of text stay short enough to read; curves and the plan view take the
// rest.
constexpr float widest_heard = 900;
constexpr float widest_kinds = 1100;

constexpr float three_columns_from = 1180;
constexpr float two_columns_from = 780;
constexpr float stack_right_from = 500;  // height that Call over Ground needs
constexpr float stack_both_from = 640;   // height that two over two needs
constexpr float stack_one_from = 420;    // height that one over one needs
constexpr float low_column = 560;        // below this Call takes more of its column
constexpr float compact_below = 780;     // window height
constexpr float ruler_from = 440;        // window height

}  // namespace

const Slot* Layout::slot_of(RegionId region) const {
  for (const Slot& slot : slots)
    if (slot.shown == region) return &slot;
  return nullptr;
}

Layout lay_out(float width, float height, float scale, const std::vector<RegionId>& wanted) {
  auto px = [&](float design) { return std::round(design * scale); };
  Layout out;
  out.compact = height / scale < compact_below;

  float left = px(margin), right = std::max(left + 1, width - px(margin));
  float full = right - left;
  const bool ruler =
      height / scale >= ruler_from || (!wanted.empty() && wanted.front() == RegionId::hours);
  out.hours = {left, px(14), full,
               px(!ruler        ? hours_without_ruler
                  : out.compact ? hours_low
                                : hours_high)};
  out.entry = {left, height - px(entry_high) - px(8), full, px(entry_high)};
  float top_rule = out.hours.bottom() + px(4);
  float bottom_rule = out.entry.y - px(6);
  out.rules.push_back({left, top_rule, right, top_rule});
  out.rules.push_back({left, bottom_rule, right, bottom_rule});

  float top = top_rule + px(8);
  float bottom = std::max(top + 1, bottom_rule - px(8));
  float high = bottom - top;
  float design_width = width / scale, design_high = high / scale;

  // Which of those that share a place was looked at last?
  auto shown_of = [&](const std::vector<RegionId>& regions) {
    for (RegionId region : wanted)
      if (std::find(regions.begin(), regions.end(), region) != regions.end()) return region;
    return regions.front();
  };
  auto place = [&](Rect r, std::vector<RegionId> regions) {
    Slot slot;
    slot.shown = shown_of(regions);
    slot.names = {r.x, r.y, r.w, regions.size() > 1 ? px(names_high) : 0};
    slot.area = {r.x, r.y, r.w, std::max(1.0F, r.h)};
    slot.regions = std::move(regions);
    out.slots.push_back(std::move(slot));
  };
  auto column_rule = [&](float x) { out.rules.push_back({x, top, x, bottom}); };
  auto stack = [&](float x, float w, RegionId upper, RegionId lower, float part) {
    float upper_high = std::round((high - px(stack_gap)) * part);
    float rule = top + upper_high + px(stack_gap / 2);
    place({x, top, w, upper_high}, {upper});
    place({x, top + upper_high + px(stack_gap), w, high - upper_high - px(stack_gap)}, {lower});
    out.rules.push_back({x, rule, x + w, rule});
  };

  using enum RegionId;
  if (design_width >= three_columns_from) {
    float free = full - 2 * px(gutter);
    float heard_w = std::min(std::round(free * 0.318F), px(widest_heard));
    float kinds_w = std::min(std::round(free * 0.345F), px(widest_kinds));
    float kinds_x = left + heard_w + px(gutter);
    float call_x = kinds_x + kinds_w + px(gutter);
    place({left, top, heard_w, high}, {heard});
    place({kinds_x, top, kinds_w, high}, {kinds});
    if (design_high >= stack_right_from)
      stack(call_x, right - call_x, call, ground, design_high < low_column ? 0.7F : 0.6F);
    else
      place({call_x, top, right - call_x, high}, {call, ground});
    column_rule(kinds_x - px(gutter) / 2);
    column_rule(call_x - px(gutter) / 2);
  } else if (design_width >= two_columns_from) {
    float left_w = std::round((full - px(gutter)) * 0.46F);
    float right_x = left + left_w + px(gutter);
    if (design_high >= stack_both_from) {
      stack(left, left_w, heard, ground, 0.62F);
      stack(right_x, right - right_x, kinds, call, 0.54F);
    } else {
      place({left, top, left_w, high}, {heard, kinds});
      place({right_x, top, right - right_x, high}, {call, ground});
    }
    column_rule(right_x - px(gutter) / 2);
  } else if (design_high >= stack_one_from) {
    // Half a screen: what to do now over what it rests on.
    float upper = std::round((high - px(stack_gap)) * 0.45F);
    place({left, top, full, upper}, {call, ground});
    place({left, top + upper + px(stack_gap), full, high - upper - px(stack_gap)}, {heard, kinds});
    float rule = top + upper + px(stack_gap / 2);
    out.rules.push_back({left, rule, right, rule});
  } else {
    place({left, top, full, high}, {heard, kinds, call, ground});
  }
  return out;
}

}  // namespace stonecall::desk
