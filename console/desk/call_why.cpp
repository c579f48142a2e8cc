#include "console/desk/call_why.hpp"

#include <algorithm>
#include <chrono>

#include <fmt/format.h>

#include "console/charts/curves.hpp"
#include "console/charts/ticks.hpp"
#include "console/desk/chart_painter.hpp"
#include "console/plates/advice_plate.hpp"

namespace stonecall::desk {
namespace {

constexpr Font reason_font{Type::text};

/// Round times of day between two elapsed minutes, for an axis of this width in design pixels.
std::vector<charts::Tick> ticks_of_day(double first, double last, protocol::Instant start,
                                       const ClockText& clock, double width) {
  constexpr double between = 70;  // as the chart itself sets them
  const auto zone = clock.mode == TimeMode::local ? clock.start.offset : std::chrono::minutes(0);
  const double midnight = protocol::in_minutes(start.time_since_epoch() + zone);
  std::vector<charts::Tick> ticks;
  for (const double m : charts::minute_ticks(first + midnight, last + midnight,
                                             std::max(2, static_cast<int>(width / between))))
    ticks.push_back({m - midnight, clock.minutes(std::chrono::round<std::chrono::seconds>(
                                       start + protocol::from_minutes(m - midnight)))});
  return ticks;
}

std::vector<std::string> reasons_of(const advise::Advice& advice, bool with_card,
                                    const ClockText& clock) {
  std::vector<std::string> reasons;
  if (with_card)
    for (const advise::Telling& each : {advice.reason, advice.sureness})
      if (!each.empty()) reasons.push_back(clock.told(each));
  for (const advise::Telling& each : advice.why) reasons.push_back(clock.told(each));
  return reasons;
}

}  // namespace

float draw_curve(const View& view, Canvas& canvas, float top, float room) {
  constexpr float least_room = 88;  // design pixels
  const advise::Advice* advice = view.advice();
  if (!advice || room <= canvas.px(least_room)) return 0;
  auto plate = plates::advice_plate(*advice, view.assessment->clock.elapsed);
  if (!plate) return 0;
  const Rect& area = canvas.area();
  const float scale = canvas.fonts().scale();
  plate->width = area.w / scale;
  plate->height =
      std::min(room / scale - below_curve, std::max(curve_at_ease, area.h / scale * 0.4F));
  if (canvas.clock().mode != TimeMode::elapsed)
    plate->x_ticks = ticks_of_day(advice->curve.front().minute, advice->curve.back().minute,
                                  picture::start_of(*view.picture), canvas.clock(), plate->width);
  const auto chart = charts::crossing(*plate, measure_of(canvas.fonts()));
  paint(canvas, chart, {area.x, top});
  return canvas.px(static_cast<float>(chart.height)) + canvas.px(below_curve);
}

float draw_reasons(const advise::Advice& advice, bool with_card, std::size_t& first, Canvas& canvas,
                   float top, float room) {
  const std::vector<std::string> reasons = reasons_of(advice, with_card, canvas.clock());
  const Fonts& f = canvas.fonts();
  const Rect& area = canvas.area();
  const float line = f.line_height(reason_font.type);
  const float indent = canvas.px(14), gap = canvas.px(2), more_high = canvas.px(18);
  if (canvas.asked("call.reasons_back")) first = 0;
  first = std::min(first, reasons.empty() ? 0 : reasons.size() - 1);
  float y = top;
  std::size_t next = first;
  for (; next < reasons.size(); ++next) {
    const std::string& reason = reasons[next];
    const auto lines = wrap(f, reason_font, reason, area.w - indent).size();
    const float high = static_cast<float>(lines) * line + gap;
    const bool all = next + 1 == reasons.size() && first == 0;
    // One is always shown, rather than how many there are.
    if (y - top + high > room - (all || next == first ? 0 : more_high)) {
      if (next > first) break;
      canvas.text({area.x + indent, y + indent}, reason_font, Ink::ink,
                  ellipsis(f, reason_font, reason, std::max(0.0F, area.w - indent)));
      canvas.tip({area.x, y, area.w, line}, reason);
      y += line + gap;
      ++next;
      break;
    }
    canvas.text({area.x, y + indent}, reason_font, Ink::soft, "–");
    y += canvas.paragraph({area.x + indent, y + indent}, reason_font, Ink::ink, reason,
                          area.w - indent) +
         gap;
  }
  const std::size_t after = reasons.size() - next;
  if (y - top + more_high <= room && (after > 0 || first > 0)) {
    canvas.text({area.x + indent, y + canvas.px(12)}, {Type::fine}, Ink::soft,
                after == 0 ? "Page ↑ the first again" : fmt::format("{} more: Page ↓", after));
    y += more_high;
  }
  if (canvas.asked("call.reasons_on") && after > 0) first = next;
  return y - top + canvas.px(6);
}

}  // namespace stonecall::desk
