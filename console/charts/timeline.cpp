#include "console/charts/timeline.hpp"

#include <algorithm>
#include <cmath>

#include "console/charts/cut_to_fit.hpp"
#include "console/charts/ticks.hpp"

namespace stonecall::charts {
namespace {

constexpr double ruler_y = 26, walked_y = 46;

}  // namespace

Chart timeline(const Timeline& spec, const Measure& measure) {
  const double names = spec.names_walked ? 12 : 0;
  const double walked_h = 8 + names, flag_y = 76 + names;
  Chart chart{.width = spec.width,
              .height = timeline_height + names,
              .title = spec.title,
              .description = spec.description,
              .items = {}};
  if (!std::isfinite(spec.from) || !std::isfinite(spec.to) || !(spec.to > spec.from) ||
      !(spec.width > 1))
    return chart;
  Scale x{spec.from, spec.to, 0, spec.width};
  auto inside = [&](double a, double b) {
    return std::isfinite(a) && std::isfinite(b) && b >= a && b >= spec.from && a <= spec.to;
  };

  for (const auto& s : spec.planned) {
    if (!inside(s.from, s.to)) continue;
    Box box{x(s.from), 4, x(s.to) - x(s.from), ruler_y - 4};
    chart.items.push_back(Block{box, Colour{Tone::panel, {}}, Stroke{{Tone::edge, {}}, 1}});
    if (auto name = cut_to_fit(s.name, box.w - 10, measure); !name.empty())
      chart.items.push_back(Label{.at = {box.x + 6, 19}, .text = name});
  }
  chart.items.push_back(Line{{0, ruler_y}, {spec.width, ruler_y}, {{Tone::soft, {}}, 1}});
  auto ticks = minute_ticks(spec.from, spec.to, std::max(2, static_cast<int>(spec.width / 110)));
  double free_from = -1e9;
  for (double m : ticks) {
    chart.items.push_back(Line{{x(m), ruler_y}, {x(m), ruler_y + 6}, {{Tone::soft, {}}, 1}});
    Label label =
        kept_inside({.at = {x(m) + 4, ruler_y + 14}, .text = minute_text(m)}, chart, measure);
    Box area = area_of(label, measure);
    if (area.x < free_from) continue;
    free_from = area.right() + 4;
    chart.items.push_back(label);
  }
  for (std::size_t i = 0; i < spec.walked.size(); ++i) {
    const auto& s = spec.walked[i];
    if (!inside(s.from, s.to)) continue;
    Box box{x(s.from), walked_y, std::max(1.0, x(s.to) - x(s.from)), walked_h};
    if (spec.names_walked) {
      chart.items.push_back(Block{box, Colour{Tone::band, {}}, Stroke{{Tone::done, {}}, 1}});
      if (auto name = cut_to_fit(s.name, box.w - 8, measure); !name.empty())
        chart.items.push_back(
            Label{.at = {box.x + 5, walked_y + 14}, .text = name, .colour = {Tone::ink, {}}});
    } else {
      chart.items.push_back(Block{box, Colour{Tone::done, {}}, {}});
    }
    if (i > 0 && inside(spec.walked[i - 1].to, s.from))
      chart.items.push_back(Line{{x(spec.walked[i - 1].to), walked_y + walked_h / 2},
                                 {x(s.from), walked_y + walked_h / 2},
                                 {{Tone::done, {}}, 1}});
  }
  if (spec.span && inside(spec.span->low, spec.span->high))
    chart.items.push_back(Block{{x(spec.span->low), walked_y,
                                 std::max(2.0, x(spec.span->high) - x(spec.span->low)), walked_h},
                                Colour{Tone::alert_soft, {}},
                                {}});

  // Words stand beside their flag, or a line lower where another flag is in the way.
  std::vector<Box> taken;
  for (const auto& m : spec.moments)
    if (m.flag && inside(m.at, m.at)) taken.push_back({x(m.at) - 3, flag_y - 12, 14, 14});
  auto moments = spec.moments;  // what wants action gets its words first
  std::stable_partition(moments.begin(), moments.end(), [](const auto& m) { return m.alert; });
  for (const auto& m : moments) {
    if (!inside(m.at, m.at)) continue;
    Colour colour{m.alert ? Tone::alert : Tone::ink, {}};
    double at = x(m.at), top = walked_y + walked_h + 2;
    if (!m.flag) {
      chart.items.push_back(Line{{at, top}, {at, top + 5}, {colour, 1}});
      continue;
    }
    // The flag flies to the side where there is room for it.
    bool right = at + 9 <= spec.width;
    double tip = right ? at + 9 : at - 9, left = std::min(at, tip);
    double pole = right ? left : left + 9;
    chart.items.push_back(Line{{pole, top}, {pole, flag_y}, {colour, 1.5}});
    Band::Slice wide{pole, flag_y - 12, flag_y - 3}, point{tip, flag_y - 8, flag_y - 7};
    chart.items.push_back(
        Band{right ? std::vector{wide, point} : std::vector{point, wide}, colour});
    if (m.words.empty()) continue;
    double after = left + 12;
    double before = left - 3;
    for (const Label& label :
         {Label{.at = {after, flag_y}, .text = m.words, .colour = colour},
          Label{.at = {before, flag_y}, .text = m.words, .colour = colour, .anchor = Anchor::end},
          Label{.at = {left, flag_y + 15}, .text = m.words, .colour = colour},
          Label{.at = {left + 9, flag_y + 15},
          .text = m.words,
          .colour = colour,
          .anchor = Anchor::end}}) {
      Box area = area_of(label, measure);
      if (area.x < 0 || area.right() > spec.width) continue;
      if (std::any_of(taken.begin(), taken.end(), [&](const Box& t) { return t.touches(area); }))
        continue;
      taken.push_back({area.x - 4, area.y, area.w + 8, area.h});
      chart.items.push_back(label);
      break;
    }
  }
  if (spec.now && inside(*spec.now, *spec.now))
    chart.items.push_back(
        Line{{x(*spec.now), 0}, {x(*spec.now), walked_y + walked_h + 6}, {{Tone::ink, {}}, 2}});
  return chart;
}

}  // namespace stonecall::charts
