#include <algorithm>

#include <fmt/format.h>

#include "console/charts/interval_rows.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/debrief/sections/share_chart.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief::sections {
namespace {

const protocol::PlannedStation* planned(const Debrief& debrief, const std::string& station) {
  const auto& plan = debrief.picture->plan;
  if (!plan) return nullptr;
  const auto found = std::ranges::find(plan->stations, station, &protocol::PlannedStation::station);
  return found == plan->stations.end() ? nullptr : &*found;
}

Markup station(const Debrief& debrief, const Stop& stop, Pen& pen) {
  const auto& ground = stop.ground;
  const auto* plan = planned(debrief, stop.station);
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < ground.kinds.size(); ++i) {
    const auto& row = ground.kinds[i];
    if (row.share || row.counted > 0 || row.first_seen || row.said_absent) rows.push_back(i);
  }
  auto plate = plates::share_plate(ground, rows);
  plate.width = column_width;
  plate.row_height = 18;
  plate.value_gutter = 110;
  bool compared = false;
  for (std::size_t i = 0; plan && i < rows.size(); ++i) {
    const auto expected = std::ranges::find(plan->expected, ground.kinds[rows[i]].rock,
                                            &protocol::ExpectedShare::rock);
    if (expected == plan->expected.end()) continue;
    const double share = expected->percent / 100;
    plate.rows[i].beside = charts::Interval{share, share, share};
    plate.description +=
        fmt::format(" The plan expected {:.0f} % {}.", expected->percent, expected->rock);
    compared = true;
  }
  fit_names(plate);

  Markup part = element("h3", stop.station);
  if (plan && !plan->why.empty()) part += element("p", plan->why);
  Markup caption = plates::basis_text(ground.basis);
  if (compared && ground.basis.any()) caption += " Open ring: what the plan expected.";
  if (rows.empty()) {
    part += element("p", caption);
  } else {
    part += pen.figure(charts::interval_rows(plate), caption);
  }
  Markup lines;
  if (ground.no_typical_sample)
    lines += element("li", fmt::format("No sample of the ordinary rock was bagged here: {}.",
                                       *ground.no_typical_sample));
  for (const auto& each : ground.disagreements)
    lines += element(
        "li", fmt::format("{} said {:.0f}–{:.0f} % {} at {}; the counts allow {:.0f}–{:.0f} %.",
                          each.caller, each.said_low * 100, each.said_high * 100, each.rock,
                          pen.elapsed(each.at), each.counts_low * 100, each.counts_high * 100));
  if (!lines.empty()) part += element("ul", lines);
  return element("div", {{"class", "whole"}}, part);
}

}  // namespace

Markup ground(const Debrief& debrief, Pen& pen) {
  Markup page = element(
      "p",
      "Share of the rocks lying there, by all that is known at the end: dot and central 90 % "
      "interval in percent. Counts made without choosing and spoken shares enter; chosen "
      "samples do not. Shares of the kinds not met there make up the rest.");
  for (const Stop& stop : debrief.stops) {
    if (!stop.stays.empty() || stop.ground.basis.any()) page += station(debrief, stop, pen);
  }
  return page;
}

}  // namespace stonecall::debrief::sections
