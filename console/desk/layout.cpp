#include "console/desk/layout.hpp"

#include <algorithm>
#include <cmath>

namespace stonecall::desk {
namespace {

// Design pixels, at 100 %.
constexpr float margin = 24;
constexpr float gutter = 32;     // between columns; the hairline stands in its middle
constexpr float stack_gap = 20;  // between regions of a column
constexpr float hours_high = 170;
constexpr float hours_low = 156;
constexpr float hours_without_ruler = 82;
constexpr float words_line = 22;          // that of the words below the figures
constexpr float words_beside_from = 900;  // window width
constexpr float entry_high = 40;
constexpr float entry_low = 34;
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
constexpr float least_ground = 200;      // height below which the plan view shows little
constexpr float ground_at_ease = 215;
constexpr float call_at_ease = 400;   // height with a curve that can be read
constexpr float least_call = 164;     // the advised call in two lines, and its buttons
constexpr float low_column = 560;     // below this Call takes more of its column
constexpr float compact_below = 780;  // window height
constexpr float ruler_from = 440;     // window height

}  // namespace

const Slot* Layout::slot_of(RegionId region) const {
  for (const Slot& slot : slots)
    if (slot.shown == region) return &slot;
  return nullptr;
}

Layout lay_out(float width, float height, float scale, const std::vector<RegionId>& wanted,
               const RoomNeeded& needed) {
  auto px = [&](float design) { return std::round(design * scale); };
  Layout out;
  out.compact = height / scale < compact_below;

  float left = px(margin), right = std::max(left + 1, width - px(margin));
  float full = right - left;
  const bool ruler =
      height / scale >= ruler_from || (!wanted.empty() && wanted.front() == RegionId::hours);
  out.words_below = width / scale < words_beside_from;
  out.hours = {left, px(ruler ? 14 : 8), full,
               px((!ruler        ? hours_without_ruler
                   : out.compact ? hours_low
                                 : hours_high) +
                  (out.words_below ? words_line : 0))};
  const float line_high = px(ruler ? entry_high : entry_low);
  out.entry = {left, height - line_high - px(ruler ? 8 : 4), full, line_high};
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
  using Regions = std::vector<RegionId>;
  auto stack = [&](float x, float w, const Regions& upper, const Regions& lower, float upper_high) {
    float rule = top + upper_high + px(stack_gap / 2);
    place({x, top, w, upper_high}, upper);
    place({x, top + upper_high + px(stack_gap), w, high - upper_high - px(stack_gap)}, lower);
    out.rules.push_back({x, rule, x + w, rule});
  };
  const float both = high - px(stack_gap);  // what two places over each other share
  auto part_of = [&](float part) { return std::round(both * part); };
  auto wanted_of = [&](RegionId region, float w) {
    const Wanted wants = needed ? needed(region, w) : Wanted{};
    return Wanted{std::ceil(wants.least), std::ceil(wants.at_ease)};
  };
  auto need_of = [&](RegionId region, float w) { return wanted_of(region, w).least; };

  using enum RegionId;
  // Call over Ground: each has what it needs, where there is room for both; a call that is being
  // weighed takes more of a high column, for its curve.
  auto call_and_ground = [&](float x, float w) {
    const auto [need, at_ease] = wanted_of(call, w);
    const float most = both - px(least_ground);
    if (need > 0 && need <= std::min(most, px(call_at_ease)))
      stack(x, w, {call}, {ground}, std::clamp(at_ease, need, std::max(need, most)));
    else if (design_high >= stack_right_from)
      stack(x, w, {call}, {ground},
            std::max({design_high < low_column
                          ? part_of(0.7F)
                          : std::max(part_of(0.6F),
                                     std::min(px(call_at_ease), both - px(ground_at_ease))),
                      std::min(need, most)}));
    else
      place({x, top, w, high}, {call, ground});
  };
  if (design_width >= three_columns_from) {
    float free = full - 2 * px(gutter);
    float heard_w = std::min(std::round(free * 0.318F), px(widest_heard));
    float kinds_w = std::min(std::round(free * 0.345F), px(widest_kinds));
    float kinds_x = left + heard_w + px(gutter);
    float call_x = kinds_x + kinds_w + px(gutter);
    place({left, top, heard_w, high}, {heard});
    place({kinds_x, top, kinds_w, high}, {kinds});
    call_and_ground(call_x, right - call_x);
    column_rule(kinds_x - px(gutter) / 2);
    column_rule(call_x - px(gutter) / 2);
  } else if (design_width >= two_columns_from) {
    float left_w = std::round((full - px(gutter)) * 0.46F);
    float right_x = left + left_w + px(gutter);
    if (design_high >= stack_both_from) {
      // Beside the table, which needs the more room the more kinds there are, stands the one that
      // can be drawn at any size.
      const float least = part_of(0.5F), most = both - px(least_ground);
      // A call that is being weighed takes a little of Heard, for its curve.
      stack(left, left_w, {heard}, {call},
            std::clamp(both - need_of(call, left_w), part_of(0.44F), part_of(0.5F)));
      stack(right_x, right - right_x, {kinds}, {ground},
            std::clamp(need_of(kinds, right - right_x), least, std::max(least, most)));
    } else {
      place({left, top, left_w, high}, {heard, kinds});
      call_and_ground(right_x, right - right_x);
    }
    column_rule(right_x - px(gutter) / 2);
  } else if (design_high >= stack_one_from) {
    // Half a screen: what to do now over what it rests on.
    float upper = part_of(0.46F);
    if (shown_of({heard, kinds}) == kinds)
      upper = std::clamp(both - need_of(kinds, full), std::min(upper, px(least_call)), upper);
    stack(left, full, {call, ground}, {heard, kinds}, upper);
  } else {
    place({left, top, full, high}, {heard, kinds, call, ground});
  }
  return out;
}

}  // namespace stonecall::desk
