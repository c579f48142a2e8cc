#include <fmt/format.h>

#include "console/charts/curves.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief::sections {
namespace {

void row(Table& table, const std::string& name, const advise::Ground& ground) {
  if (!ground.unseen) return;
  const auto& unseen = *ground.unseen;
  table.row({name, fmt::format("{}", unseen.counted), fmt::format("{}", unseen.kinds_met),
             fmt::format("{:.1f} ({:.1f}–{:.1f})", unseen.chao1.mean, unseen.chao1.low,
                         unseen.chao1.high),
             fmt::format("{:.0f}", unseen.coverage * 100), plates::share_text(unseen.next_is_new)});
}

}  // namespace

Markup growth(const Debrief& debrief, Pen& pen) {
  const auto& whole = debrief.last.whole;
  if (!whole.unseen)
    return element("p",
                   "No basis: nothing was counted without choosing, so nothing can be said of "
                   "kinds not seen.");
  auto plate = plates::growth_plate(*whole.unseen);
  plate.width = column_width;
  plate.height = 190;
  plate.now_words =
      fmt::format("{} counted, {}", whole.unseen->counted,
                  count(static_cast<std::size_t>(whole.unseen->kinds_met), "kind", "kinds"));
  Markup page = pen.figure(charts::growth(plate),
                           "Whole exercise, counts made without choosing. Up to the dot rarefied "
                           "with its 90 % interval, "
                           "beyond it what further rocks would be expected to bring.");
  Table table(
      "Kinds there are: at least so many, seen and unseen (bias-corrected Chao1, 90 % "
      "interval). Covered: part of the rocks lying there whose kinds have been met.",
      {{"Place"},
       {"Counted", true},
       {"Kinds met", true},
       {"Kinds there are", true},
       {"Covered, %", true},
       {"Next rock is new", true}});
  for (const Stop& stop : debrief.stops) row(table, stop.station, stop.ground);
  row(table, "Whole exercise", whole);
  return page + table.markup();
}

}  // namespace stonecall::debrief::sections
