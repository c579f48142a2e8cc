#include "console/plates/advice_plate.hpp"

#include <fmt/format.h>

#include "console/charts/ticks.hpp"

namespace stonecall::plates {

using protocol::in_minutes;

std::optional<charts::Crossing> advice_plate(const advise::Advice& advice,
                                             protocol::Milliseconds now_elapsed) {
  if (advice.curve.size() < 2) return std::nullopt;
  charts::Crossing plate;
  plate.title = "Worth gained per minute, here and elsewhere";
  plate.axis_name = "worth per minute, 10–90 %";
  plate.curve_name = "here";
  plate.other_name =
      advice.best_elsewhere.empty() ? "elsewhere" : "best elsewhere: " + advice.best_elsewhere;
  for (const auto& p : advice.curve) {
    plate.curve.push_back({p.minute, p.here.mean, p.here.low, p.here.high});
    plate.other.push_back({p.minute, p.elsewhere});
  }
  plate.now = in_minutes(now_elapsed);
  if (advice.depart) plate.mark = in_minutes(*advice.depart);
  if (advice.depart_earliest && advice.depart_latest)
    plate.span =
        charts::Interval{plate.mark.value_or(in_minutes(*advice.depart_earliest)),
                         in_minutes(*advice.depart_earliest), in_minutes(*advice.depart_latest)};

  plate.description = advice.sentence.elapsed();
  if (plate.mark)
    plate.description += fmt::format(" Departure is best at {}", charts::minute_text(*plate.mark));
  if (plate.span)
    plate.description += fmt::format(" ({} to {})", charts::minute_text(plate.span->low),
                                     charts::minute_text(plate.span->high));
  if (plate.mark) plate.description += ".";
  return plate;
}

}  // namespace stonecall::plates
