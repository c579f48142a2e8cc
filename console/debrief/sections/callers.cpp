#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "console/charts/interval_rows.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/debrief/sections/share_chart.hpp"
#include "console/estimate/intervals.hpp"

namespace stonecall::debrief::sections {
namespace {

std::string points(double fraction) {
  const double whole = std::round(fraction * 100);
  return whole == 0 ? "0" : fmt::format("{}{:.0f}", whole > 0 ? "+" : "−", std::abs(whole));
}

double counted_share(const advise::ShareWithCounts& each) {
  return static_cast<double>(each.pair.met) / static_cast<double>(each.pair.counted);
}

/// What this caller said, each above what was counted at the same station.
Markup said_and_counted(const Debrief& debrief, const std::string& caller, Pen& pen) {
  const auto& picture = *debrief.picture;
  std::vector<advise::ShareWithCounts> all;
  for (const auto& each : debrief.spoken)
    if (picture.shares[each.share].caller == caller) all.push_back(each);
  constexpr std::size_t most = 20;
  const std::size_t left_out = all.size() > most ? all.size() - most : 0;
  if (left_out > 0) {
    std::ranges::stable_sort(all, std::greater{}, [](const advise::ShareWithCounts& each) {
      return std::abs(each.pair.spoken - counted_share(each));
    });
    all.resize(most);
    std::ranges::sort(all, {}, &advise::ShareWithCounts::share);
  }

  charts::IntervalRows plate;
  plate.title = "What " + caller + " said and what was counted";
  plate.ticks = {{0, "0"}, {0.25, "25"}, {0.5, "50"}, {0.75, "75"}, {1, "100"}};
  plate.width = column_width;
  plate.row_height = 18;
  plate.value_gutter = 130;
  for (const auto& each : all) {
    const auto& share = picture.shares[each.share];
    charts::IntervalRows::Row row{
        .name = fmt::format("{}, {} {}", share.rock, share.station, pen.elapsed(share.origin.at)),
        .series = pen.series(share.rock)};
    row.value = charts::Interval{share.best, share.low, share.high};
    const double counted = counted_share(each);
    row.beside = charts::Interval{counted, counted, counted};
    if (const auto interval =
            estimate::wilson(each.pair.met, each.pair.counted, estimate::shown_confidence))
      row.beside = charts::Interval{counted, interval->lower, interval->upper};
    row.words =
        fmt::format("{:.0f} %, {} of {}", share.best * 100, each.pair.met, each.pair.counted);
    plate.description +=
        fmt::format("{}{}: said {:.0f} %, counted {} of {}", plate.description.empty() ? "" : "; ",
                    row.name, share.best * 100, each.pair.met, each.pair.counted);
    plate.rows.push_back(std::move(row));
  }
  plate.description += ".";
  fit_names(plate);
  std::string caption =
      caller +
      ", %: dot and line as spoken, ring below as counted at that station by the end "
      "(Wilson’s 90 % interval).";
  if (left_out > 0)
    caption += fmt::format(" The {} that differ most; {} more are not drawn.", most, left_out);
  return element("div", {{"class", "whole"}},
                 element("h3", caller) + pen.figure(charts::interval_rows(plate), caption));
}

}  // namespace

Markup callers(const Debrief& debrief, Pen& pen) {
  if (debrief.learned.callers.empty()) return element("p", "No share of the ground was spoken.");
  Table table(
      "Spoken less counted, in points of a hundred. Bias: on average; scatter: standard "
      "deviation around it, the counts’ own error taken off. Few pairs move little from "
      "what the plan expects of a caller.",
      {{"Caller"},
       {"Spoken shares", true},
       {"With counts beside", true},
       {"Bias", true},
       {"Known to ±", true},
       {"Scatter", true}});
  for (const auto& [caller, record] : debrief.learned.callers) {
    const auto said =
        std::ranges::count(debrief.picture->shares, caller, &picture::SpokenShare::caller);
    table.row({caller, fmt::format("{}", said), fmt::format("{}", record.pairs),
               record.pairs > 0 ? points(record.bias) : "no basis",
               record.pairs > 0 ? fmt::format("{:.0f}", record.bias_error * 100) : "–",
               fmt::format("{:.0f}", record.spread * 100)});
  }
  Markup page = table.markup();
  for (const auto& [caller, record] : debrief.learned.callers)
    if (record.pairs > 0) page += said_and_counted(debrief, caller, pen);
  return page;
}

}  // namespace stonecall::debrief::sections
