#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/debrief/sections/ruler.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/plates/ground_plate.hpp"

namespace stonecall::debrief::sections {
namespace {

Markup map(const Debrief& debrief, Pen& pen) {
  auto plate = plates::ground_plate(*debrief.picture, nullptr, debrief.end);
  plate.view.sun_azimuth.reset();  // it stood elsewhere at every stop
  constexpr double height = 330;
  const auto viewport = charts::fitted(plate.view, column_width, height);
  std::string caption =
      "Planned way, and the stops joined as they were walked; north is up. Glyphs are samples, by "
      "kind";
  caption += plate.without_place > 0 ? fmt::format("; {} taken where the plan knows no place.",
                                                   count(plate.without_place, "sample", "samples"))
                                     : ".";
  return pen.figure(charts::plan_view(plate.view, column_width, height, viewport).chart, caption);
}

std::string difference(double minutes) {
  const double whole = std::round(minutes);
  return whole == 0 ? "0" : fmt::format("{}{:.0f}", whole > 0 ? "+" : "−", std::abs(whole));
}

}  // namespace

Markup hours(const Debrief& debrief, Pen& pen) {
  Markup page = pen.figure(
      charts::timeline(ruler(debrief, pen)),
      "Above the line as planned, below it as walked. Flags are the calls by number; late: "
      "heard when it was no longer useful by its own words.");

  Table table("Stations in the plan's order; minutes. Times are those the field gave.",
              {{"Station"},
               {"Planned at", true},
               {"Arrived", true},
               {"Left", true},
               {"Stayed", true},
               {"Allotted", true},
               {"Over", true},
               {"Bagged", true},
               {"Documented", true},
               {"Counted", true}});
  for (const Stop& stop : debrief.stops) {
    std::string arrived, left;
    for (const auto& stay : stop.stays) {
      arrived += (arrived.empty() ? "" : ", ") + pen.elapsed(stay.arrived);
      left += (left.empty() ? "" : ", ") + (stay.left ? pen.elapsed(*stay.left) : "–");
    }
    const bool walked = !stop.stays.empty();
    table.row({stop.station,
               stop.planned_arrival ? protocol::elapsed_minutes_text(*stop.planned_arrival)
                                    : "not planned",
               walked ? arrived : "not walked", walked ? left : "–",
               walked ? fmt::format("{:.0f}", protocol::in_minutes(stop.stayed)) : "–",
               stop.allotted_minutes ? fmt::format("{:.0f}", *stop.allotted_minutes) : "–",
               walked && stop.allotted_minutes
                   ? difference(protocol::in_minutes(stop.stayed) - *stop.allotted_minutes)
                   : "–",
               fmt::format("{}", stop.bagged), fmt::format("{}", stop.documented),
               fmt::format("{}", stop.ground.basis.counted)});
  }
  if (!table.empty()) page += table.markup();
  if (debrief.picture->plan) page += map(debrief, pen);
  return page;
}

}  // namespace stonecall::debrief::sections
