#include "console/debrief/sections/ruler.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace stonecall::debrief::sections {

charts::Timeline ruler(const Debrief& debrief, const Pen& pen) {
  const auto& picture = *debrief.picture;
  charts::Timeline line;
  line.title = "Stations as planned and as walked";
  line.width = column_width;
  line.names_walked = true;
  line.from = 0;
  line.to = std::max({1.0, picture.plan ? picture.plan->duration_minutes : 0.0,
                      protocol::in_minutes(debrief.end - debrief.start)});
  for (const Stop& stop : debrief.stops) {
    if (!stop.planned_arrival) continue;
    const double from = protocol::in_minutes(*stop.planned_arrival);
    line.planned.push_back({stop.station, from, from + stop.allotted_minutes.value_or(0)});
  }
  for (const auto& visit : picture.visits) {
    line.walked.push_back({visit.station, protocol::in_minutes(visit.arrived - debrief.start),
                           protocol::in_minutes(visit.left.value_or(debrief.end) - debrief.start)});
    if (!line.description.empty()) line.description += "; ";
    line.description += fmt::format("{} from {} to {}", visit.station, pen.elapsed(visit.arrived),
                                    visit.left ? pen.elapsed(*visit.left) : "the end");
  }
  line.description += ".";
  for (std::size_t i = 0; i < debrief.calls.size(); ++i) {
    const auto at = picture.calls[debrief.calls[i].call].origin.at;
    const bool late = debrief.calls[i].followed.heard_too_late();
    line.moments.push_back({protocol::in_minutes(at - debrief.start),
                            fmt::format("{}{}", i + 1, late ? " late" : ""), true, late});
  }
  return line;
}

}  // namespace stonecall::debrief::sections
