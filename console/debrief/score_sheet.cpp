#include "console/debrief/score_sheet.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/charts/interval_rows.hpp"
#include "console/debrief/markup.hpp"
#include "console/debrief/page.hpp"
#include "console/debrief/pen.hpp"
#include "console/debrief/sections/share_chart.hpp"
#include "console/estimate/intervals.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief {
namespace {

using protocol::Fault;
using protocol::Json;

std::string worth_text(const std::optional<double>& worth) {
  return worth ? fmt::format("{:.2f}", *worth) : "–";
}

Markup figure(const std::string& name, const std::string& value, const std::string& beside) {
  return element("li", element("span", {{"class", "soft"}}, name) + " " + element("b", value) +
                           " " + element("span", {{"class", "soft"}}, beside));
}

Markup glance(const Debrief& debrief, const ScoreSheet& sheet) {
  Markup figures;
  const auto judged = std::ranges::count_if(
      sheet.calls, [](const JudgedCall& call) { return call.regret().has_value(); });
  figures += figure("Calls", fmt::format("{}", sheet.calls.size()),
                    fmt::format("{} on when to leave", judged));
  figures += figure("Worth given away a call", worth_text(sheet.mean_regret()),
                    "where 1 is a first sample");
  const auto past_limit = std::ranges::count_if(
      sheet.calls, [](const JudgedCall& call) { return call.past_limit.has_value(); });
  if (past_limit > 0)
    figures += figure("Past the latest departure", fmt::format("{}", past_limit),
                      past_limit == 1 ? "call to stay on" : "calls to stay on");
  const auto in_time = std::ranges::count_if(sheet.stays, [&](const JudgedStay& stay) {
    const auto spare = stay.to_spare(debrief);
    return spare && *spare >= Milliseconds(0);
  });
  figures += figure("Stays called in time", fmt::format("{}", in_time),
                    fmt::format("of {}", sheet.stays.size()));
  if (sheet.brier())
    figures += figure("Brier score", worth_text(sheet.brier()), "always 50 % gets 0.25");
  if (!sheet.pauses.empty()) {
    const auto all =
        std::accumulate(sheet.pauses.begin(), sheet.pauses.end(), Milliseconds::zero());
    figures += figure("Paused", minutes_text(all),
                      sheet.pauses.size() == 1 ? "in one pause"
                                               : fmt::format("in {} pauses", sheet.pauses.size()));
  }
  return element("ul", {{"class", "figures"}}, figures);
}

std::string timing(const std::optional<Milliseconds>& to_spare) {
  if (!to_spare) return "–";
  const bool late = *to_spare < Milliseconds(0);
  return minutes_text(late ? -*to_spare : *to_spare) + (late ? " too late" : " to spare");
}

Markup stays(const Debrief& debrief, const ScoreSheet& sheet, const Pen& pen) {
  if (sheet.stays.empty()) return element("p", "The log tells of no stay at a station.");
  Table table(
      "Best to leave: weighed from the arrival on, with all that the log came to show of the "
      "ground "
      "and the pace. A call had to be sent before that by the delay of the link and the time to "
      "act.",
      {{"Station"},
       {"Came", true},
       {"Left", true},
       {"Best to leave", true},
       {"Call by", true},
       {"Your call", true},
       {"Timing"}});
  for (const JudgedStay& stay : sheet.stays) {
    const auto time = [&](const std::optional<Instant>& at) { return at ? pen.elapsed(*at) : "–"; };
    table.row({stay.station, pen.elapsed(stay.arrived), time(stay.left), time(stay.best),
               time(stay.useful_until),
               stay.call ? pen.elapsed(call_made(debrief, *stay.call).origin.at) : "none",
               timing(stay.to_spare(debrief))});
  }
  return table.markup();
}

Markup calls(const Debrief& debrief, const ScoreSheet& sheet, const Pen& pen) {
  if (sheet.calls.empty()) return element("p", "No call was made.");
  Table table(
      "Given away: worth of the best departure less that of the one called for, both in hindsight, "
      "from the call to the end. It judges the time of leaving; words that do not speak of it are "
      "not "
      "judged, and a call to stay past the latest departure is not weighed against rocks.",
      {{"At", true},
       {"Where"},
       {"Call"},
       {"Advised on the same evidence"},
       {"Best to leave", true},
       {"Given away", true}});
  for (const JudgedCall& judged : sheet.calls) {
    const auto& then = debrief.calls[judged.call];
    const auto& call = call_made(debrief, judged.call);
    table.row({pen.elapsed(call.origin.at), then.station.empty() ? "on the way" : then.station,
               call.call.text,
               then.then.advice ? pen.told(then.then.advice->sentence, then.start)
                                : std::string("nothing"),
               judged.best ? pen.elapsed(*judged.best) : "–",
               judged.past_limit
                   ? element("span", {{"class", "act"}},
                             "past the latest departure, " + pen.elapsed(*judged.past_limit))
                   : Markup(worth_text(judged.regret()))});
  }
  return table.markup();
}

/// Stated chances in five bins against how often they came true.
Markup calibration(const ScoreSheet& sheet, Pen& pen) {
  struct Bin {
    double stated = 0;
    std::int64_t came_true = 0, known = 0;
  };
  std::array<Bin, 5> bins{};
  for (const StatedChance& each : sheet.chances) {
    if (!each.came_true) continue;
    auto& bin = bins[std::min<std::size_t>(static_cast<std::size_t>(each.chance * 5), 4)];
    bin.stated += each.chance;
    bin.came_true += *each.came_true;
    ++bin.known;
  }
  charts::IntervalRows plate;
  plate.title = "Stated chances and how often they came true";
  plate.ticks = {{0, "0"}, {0.25, "25"}, {0.5, "50"}, {0.75, "75"}, {1, "100"}};
  plate.width = column_width;
  plate.row_height = 24;
  plate.name_gutter = 120;
  plate.value_gutter = 130;
  for (std::size_t i = 0; i < bins.size(); ++i) {
    const Bin& bin = bins[i];
    if (bin.known == 0) continue;
    const double n = static_cast<double>(bin.known);
    charts::IntervalRows::Row row{.name = fmt::format("{}–{} %", i * 20, i * 20 + 20)};
    const double came = static_cast<double>(bin.came_true) / n, stated = bin.stated / n;
    if (const auto interval =
            estimate::wilson(bin.came_true, bin.known, estimate::shown_confidence))
      row.value = charts::Interval{came, interval->lower, interval->upper};
    row.beside = charts::Interval{stated, stated, stated};
    row.words = fmt::format("{} of {}", bin.came_true, bin.known);
    plate.description +=
        fmt::format("{}stated {}: {} of {} came true", plate.description.empty() ? "" : "; ",
                    row.name, bin.came_true, bin.known);
    plate.rows.push_back(std::move(row));
  }
  if (plate.rows.empty()) return {};
  plate.description += ".";
  return pen.figure(
      charts::interval_rows(plate),
      "Ring and line: how often it came true (Wilson’s 90 % interval); thin ring below: "
      "what was stated on average.");
}

Markup chances(const Debrief& debrief, const ScoreSheet& sheet, Pen& pen) {
  if (sheet.chances.empty())
    return element("p", "None was stated. “State a chance” on the desk records one.");
  Table table("Numbered as --came-true and --did-not take them.",
              {{"No.", true}, {"At", true}, {"Stated", true}, {"That"}, {"Came true"}});
  int number = 0;
  for (const StatedChance& each : sheet.chances)
    table.row({fmt::format("{}", ++number), pen.elapsed(call_made(debrief, each.call).origin.at),
               chance_text(each.chance), each.outcome,
               !each.came_true   ? "not said yet"
               : *each.came_true ? "yes"
                                 : "no"});
  return table.markup() + calibration(sheet, pen);
}

Markup missed(const Debrief& debrief, const ScoreSheet& sheet, const Pen& pen) {
  const auto& plan = debrief.picture->plan;
  if (sheet.missed.empty())
    return element("p", plan && !plan->wanted.empty() ? "None: the plan’s wishes are in the bag."
                                                      : "None: all that was met was bagged.");
  Table table("Wanted and not bagged in full, or met and never bagged.",
              {{"Kind"}, {"Wanted", true}, {"Bagged", true}, {"Why"}});
  for (const MissedKind& each : sheet.missed)
    table.row({pen.kind(each.rock), each.wanted > 0 ? fmt::format("{}", each.wanted) : "–",
               fmt::format("{}", each.bagged), each.why});
  return table.markup();
}

Markup progress(const std::vector<PracticeRun>& earlier, const PracticeRun& now) {
  Table table(
      "Oldest first; this run is the last.",
      {{"Day"}, {"Exercise"}, {"Calls", true}, {"Given away a call", true}, {"Brier score", true}});
  const auto row = [&](const PracticeRun& run) {
    table.row({run.day, run.exercise, fmt::format("{}", run.calls), worth_text(run.mean_regret),
               worth_text(run.brier)});
  };
  for (const PracticeRun& run : earlier) row(run);
  row(now);
  return table.markup();
}

/// The hidden ground beside what the desk showed of it at the end.
Markup ground_as_it_was(const Debrief& debrief, const std::vector<StationTruth>& truth,
                        const Pen& pen) {
  constexpr double least_percent = 3;
  Table table(
      "Kinds that are 3 % of the ground or more. Shown: mean and 90 % interval at the end; in the "
      "chart the filled mark, the truth as a ring below it.",
      {{"Station", false, true},
       {"Kind"},
       {sections::share_axis()},
       {"Truly", true},
       {"Shown", true},
       {"Counted", true}});
  int shown = 0;
  int held = 0;
  for (const StationTruth& station : truth) {
    const Stop* stop = stop_at(debrief, station.station);
    if (!stop || stop->stays.empty()) continue;
    for (const auto& share : station.shares) {
      const auto row = std::ranges::find(stop->ground.kinds, share.rock, &advise::KindRow::rock);
      const bool known = row != stop->ground.kinds.end() && row->share;
      if (known) {
        ++shown;
        held += row->share->low <= share.percent / 100 && share.percent / 100 <= row->share->high;
      }
      if (share.percent < least_percent) continue;
      charts::IntervalRows::Row drawn{.name = share.rock, .series = pen.series(share.rock)};
      const double truly = share.percent / 100;
      if (known)
        drawn.value = charts::Interval{row->share->mean, row->share->low, row->share->high};
      drawn.beside = charts::Interval{truly, truly, truly};
      table.row(
          {station.station, pen.kind(share.rock), sections::share_in_row(std::move(drawn), pen),
           fmt::format("{:.0f} %", share.percent),
           known ? plates::share_text(*row->share) : std::string("nothing to go by"),
           row != stop->ground.kinds.end() ? fmt::format("{}", row->counted) : std::string("0")});
    }
  }
  Markup words;
  if (shown > 0)
    words = element("p", fmt::format("Of {} intervals shown {} hold the truth; nine in ten should.",
                                     shown, held));
  return words + table.markup();
}

}  // namespace

std::string to_line(const PracticeRun& run) {
  Json json{
      {"day", run.day}, {"adviser", run.adviser}, {"exercise", run.exercise}, {"calls", run.calls}};
  if (run.mean_regret) json["mean_regret"] = *run.mean_regret;
  if (run.brier) json["brier"] = *run.brier;
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

protocol::Result<PracticeRun> parse_practice_run(std::string_view line) {
  constexpr std::size_t kMostBytes = 4096;
  auto json = protocol::parse_json(line, kMostBytes);
  if (!json) return tl::unexpected(json.error());
  PracticeRun run;
  const auto text = [&](const char* name, std::string& into) {
    const auto found = json->find(name);
    if (found == json->end() || !found->is_string()) return false;
    into = found->get<std::string>();
    return true;
  };
  if (!json->is_object()) return tl::unexpected(Fault{"", "not an object", {}});
  if (!text("day", run.day)) return tl::unexpected(Fault{"day", "must be text", {}});
  if (!text("adviser", run.adviser)) return tl::unexpected(Fault{"adviser", "must be text", {}});
  if (!text("exercise", run.exercise)) return tl::unexpected(Fault{"exercise", "must be text", {}});
  if (!json->contains("calls") || !(*json)["calls"].is_number_unsigned() || (*json)["calls"] > 1e6)
    return tl::unexpected(Fault{"calls", "must be a whole number to 1,000,000", {}});
  run.calls = (*json)["calls"].get<int>();
  for (const auto& [name, into] :
       {std::pair{"mean_regret", &run.mean_regret}, std::pair{"brier", &run.brier}}) {
    const auto found = json->find(name);
    if (found == json->end()) continue;
    if (!found->is_number()) return tl::unexpected(Fault{name, "must be a number", {}});
    *into = found->get<double>();
  }
  return run;
}

PracticeRun run_of(const Debrief& debrief, const ScoreSheet& sheet, std::string day) {
  return {std::move(day),
          sheet.adviser,
          debrief.picture->plan ? debrief.picture->plan->name : debrief.name,
          static_cast<int>(sheet.calls.size()),
          sheet.mean_regret(),
          sheet.brier()};
}

std::string score_sheet(const Debrief& debrief, const ScoreSheet& sheet,
                        const std::vector<PracticeRun>& earlier,
                        const std::vector<StationTruth>& truth) {
  Pen pen(debrief);
  const PracticeRun now = run_of(debrief, sheet, "this run");
  Markup body = element(
      "header", element("h1", "Practice of " + sheet.adviser) +
                    element("p", {{"class", "soft"}},
                            now.exercise + ", " + pen.date() +
                                ". Times are hours and minutes from " + pen.counted_from() + "."));
  Markup sections = glance(debrief, sheet);
  sections += page_section("stays", "When to leave", stays(debrief, sheet, pen));
  sections += page_section("calls", "Your calls", calls(debrief, sheet, pen));
  sections += page_section("chances", "Chances you stated", chances(debrief, sheet, pen));
  sections += page_section("missed", "Kinds missed", missed(debrief, sheet, pen));
  if (!truth.empty())
    sections +=
        page_section("ground", "The ground as it was", ground_as_it_was(debrief, truth, pen));
  sections += page_section("progress", "Your runs", progress(earlier, now));
  sections += page_section(
      "cautions", "Cautions",
      element(
          "ul",
          element("li",
                  truth.empty()
                      ? "The party of a recorded log went where it went: no call of yours could "
                        "move it. What is judged is the call, not what it led to."
                      : "The party was made up and answered your calls: hindsight weighs the walk "
                        "that came of them.") +
              element("li",
                      "Hindsight knows the evidence of the whole log, not the ground. Where little "
                      "was counted it knows little.") +
              element("li", std::string(advise::turn_back_caution))));
  body += element("main", sections);
  return html_page({"Practice of " + sheet.adviser + ": " + now.exercise, "Practice",
                    now.exercise + ", " + pen.date()},
                   pen.glyphs() + body);
}

}  // namespace stonecall::debrief
