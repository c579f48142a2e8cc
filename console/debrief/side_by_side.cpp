#include "console/debrief/side_by_side.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "console/charts/interval_rows.hpp"
#include "console/debrief/markup.hpp"
#include "console/debrief/page.hpp"
#include "console/debrief/pen.hpp"
#include "console/debrief/sections/ruler.hpp"
#include "console/debrief/sections/share_chart.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief {
namespace {

using advise::KindRow;

/// A run with what writes its times.
struct Run {
  const Debrief& debrief;
  Pen pen;
  const char* name;  ///< as the page calls it
};

using Runs = std::array<Run, 2>;

/// Charts and glyphs of the page are all of one pen, so that their ids are their own.
Pen& pen_of(Runs& runs) {
  return runs[0].pen;
}

std::optional<protocol::Fault> why_not_one_plan(const Debrief& first, const Debrief& second) {
  const auto fault = [](std::string what) { return protocol::Fault{"", std::move(what), {}}; };
  for (const Debrief* run : {&first, &second})
    if (!run->picture->plan) return fault(run->name + " holds no plan");
  const auto& one = *first.picture->plan;
  const auto& other = *second.picture->plan;
  if (one.name != other.name)
    return fault("the plan of " + first.name + " is \"" + one.name + "\", that of " + second.name +
                 " \"" + other.name + "\"");
  const auto [here, there] =
      std::ranges::mismatch(one.stations, other.stations, {}, &protocol::PlannedStation::station,
                            &protocol::PlannedStation::station);
  if (here == one.stations.end() && there == other.stations.end()) return std::nullopt;
  const auto named = [](const auto& stations, auto at) {
    return at == stations.end() ? std::string("none") : "\"" + at->station + "\"";
  };
  return fault(fmt::format("stop {} of the plan is {} in {} and {} in {}",
                           here - one.stations.begin() + 1, named(one.stations, here), first.name,
                           named(other.stations, there), second.name));
}

/// Rows of one value a run.
template <class Value>
void row(Table& table, Runs& runs, const Markup& name, Value value) {
  table.row({name, value(runs[0]), value(runs[1])});
}

std::string number(std::size_t n) {
  return fmt::format("{}", n);
}

Markup glance(Runs& runs) {
  Table table("What came of either run.", {{"Figure"}, {runs[0].name, true}, {runs[1].name, true}});
  row(table, runs, "Back at base", [](const Run& run) {
    const auto back = back_at_base(*run.debrief.picture);
    return back ? run.pen.elapsed(*back) : "not by " + run.pen.elapsed(run.debrief.end);
  });
  row(table, runs, "Stops of the plan reached", [](const Run& run) {
    return fmt::format(
        "{} of {}",
        std::ranges::count_if(run.debrief.stops,
                              [](const Stop& s) { return s.planned_arrival && !s.stays.empty(); }),
        run.debrief.picture->plan->stations.size());
  });
  row(table, runs, "Bagged",
      [](const Run& run) { return fmt::format("{}", run.debrief.last.bagged); });
  row(table, runs, "Fully documented",
      [](const Run& run) { return fmt::format("{}", run.debrief.last.documented); });
  row(table, runs, "Wanted kinds in full number", [](const Run& run) {
    const auto& kinds = run.debrief.last.whole.kinds;
    const auto wanted = [](const KindRow& kind) { return kind.wanted > 0; };
    return fmt::format(
        "{} of {}",
        std::ranges::count_if(
            kinds, [&](const KindRow& kind) { return wanted(kind) && kind.bagged >= kind.wanted; }),
        std::ranges::count_if(kinds, wanted));
  });
  row(table, runs, "Kinds met", [](const Run& run) {
    return number(static_cast<std::size_t>(
        std::ranges::count_if(run.debrief.last.whole.kinds,
                              [](const KindRow& kind) { return kind.first_seen.has_value(); })));
  });
  row(table, runs, "Rocks counted", [](const Run& run) {
    const auto& basis = run.debrief.last.whole.basis;
    return fmt::format("{} in {}", basis.counted, counted_in(basis));
  });
  row(table, runs, "Calls of the back room",
      [](const Run& run) { return number(calls_to_hear(run.debrief)); });
  return table.markup();
}

Markup hours(Runs& runs) {
  std::array<charts::Timeline, 2> lines{sections::ruler(runs[0].debrief, runs[0].pen),
                                        sections::ruler(runs[1].debrief, runs[1].pen)};
  const double to = std::max(lines[0].to, lines[1].to);
  Markup page;
  for (std::size_t i = 0; i < runs.size(); ++i) {
    lines[i].to = to;
    lines[i].title = fmt::format("{}: stations as planned and as walked", runs[i].name);
    page += pen_of(runs).figure(charts::timeline(lines[i]),
                                fmt::format("{}. Above the line as planned, below it as walked; "
                                            "flags are the calls by number.",
                                            runs[i].name));
  }
  std::vector<Table::Column> columns{{"Station", false, true}, {"Allotted", true}};
  for (const char* what : {"Stayed", "Bagged", "Docum.", "Counted"})
    for (const Run& run : runs) columns.push_back({fmt::format("{}, {}", what, run.name), true});
  Table table("Stations in the plan's order; minutes. Others that only one run walked come last.",
              columns);
  const auto stop_row = [&](const std::string& station) {
    const std::array<const Stop*, 2> at{stop_at(runs[0].debrief, station),
                                        stop_at(runs[1].debrief, station)};
    std::vector<Markup> cells{station};
    const Stop& either = *(at[0] ? at[0] : at[1]);
    cells.emplace_back(either.allotted_minutes ? fmt::format("{:.0f}", *either.allotted_minutes)
                                               : "–");
    const auto both = [&](auto value) {
      for (const Stop* stop : at)
        cells.emplace_back(stop && !stop->stays.empty() ? fmt::format("{:.0f}", value(*stop))
                                                        : std::string("–"));
    };
    both([](const Stop& stop) { return protocol::in_minutes(stop.stayed); });
    both([](const Stop& stop) { return static_cast<double>(stop.bagged); });
    both([](const Stop& stop) { return static_cast<double>(stop.documented); });
    both([](const Stop& stop) { return static_cast<double>(stop.ground.basis.counted); });
    table.row(cells);
  };
  for (const Stop& stop : runs[0].debrief.stops) stop_row(stop.station);
  for (const Stop& stop : runs[1].debrief.stops)
    if (!stop_at(runs[0].debrief, stop.station)) stop_row(stop.station);
  if (!table.empty()) page += table.markup();
  return page;
}

/// Kinds of both runs: those of the first in its order, then others of the second.
std::vector<std::string> kinds_of(const advise::Ground& first, const advise::Ground& second) {
  std::vector<std::string> kinds;
  for (const auto* ground : {&first, &second})
    for (const KindRow& kind : ground->kinds)
      if (std::ranges::find(kinds, kind.rock) == kinds.end()) kinds.push_back(kind.rock);
  return kinds;
}

const KindRow* kind_in(const advise::Ground& ground, const std::string& rock) {
  const auto found = std::ranges::find(ground.kinds, rock, &KindRow::rock);
  return found == ground.kinds.end() ? nullptr : &*found;
}

std::optional<charts::Interval> interval_of(const KindRow* kind) {
  if (!kind || !kind->share) return std::nullopt;
  return charts::Interval{kind->share->mean, kind->share->low, kind->share->high};
}

std::string share_of(const KindRow* kind) {
  return kind && kind->share ? plates::share_text(*kind->share) : "no basis";
}

Markup station(Runs& runs, const Stop& first, const Stop& second) {
  charts::IntervalRows plate;
  plate.title = fmt::format("Shares at {} in either run", first.station);
  plate.ticks = {{0, "0"}, {0.25, "25"}, {0.5, "50"}, {0.75, "75"}, {1, "100 %"}};
  plate.width = column_width;
  plate.row_height = 18;
  plate.value_gutter = 190;
  for (const std::string& rock : kinds_of(first.ground, second.ground)) {
    const auto* one = kind_in(first.ground, rock);
    const auto* other = kind_in(second.ground, rock);
    const auto counts = [](const KindRow* kind) {
      return kind && (kind->counted > 0 || kind->first_seen);
    };
    if (!interval_of(one) && !interval_of(other) && !counts(one) && !counts(other)) continue;
    charts::IntervalRows::Row row{.name = rock, .series = pen_of(runs).series(rock)};
    row.value = interval_of(one);
    row.beside = interval_of(other);
    row.words = share_of(one) + ", " + share_of(other);
    plate.description +=
        fmt::format("{}{}: {} {}, {} {}", plate.description.empty() ? "" : "; ", rock, runs[0].name,
                    share_of(one), runs[1].name, share_of(other));
    plate.rows.push_back(std::move(row));
  }
  Markup part = element("h3", first.station);
  Markup basis;
  for (const auto& [run, stop] : {std::pair(&runs[0], &first), std::pair(&runs[1], &second)})
    basis += Markup(fmt::format("{}{}: {}", basis.empty() ? "" : " ", run->name,
                                plates::basis_text(stop->ground.basis)));
  if (plate.rows.empty()) return part + element("p", basis);
  plate.description += ".";
  sections::fit_names(plate);
  return element("div", {{"class", "whole"}},
                 part + pen_of(runs).figure(charts::interval_rows(plate), basis));
}

Markup ground(Runs& runs) {
  Markup page = element(
      "p", fmt::format("Share of the rocks lying there, by all that either run knew at its end: "
                       "dot and central 90 % interval {}, ring below it {}, in percent.",
                       runs[0].name, runs[1].name));
  for (const Stop& first : runs[0].debrief.stops) {
    const Stop* second = stop_at(runs[1].debrief, first.station);
    const auto says = [](const Stop& stop) {
      return !stop.stays.empty() || stop.ground.basis.any();
    };
    if (second && (says(first) || says(*second))) page += station(runs, first, *second);
  }
  return page;
}

Markup kinds(Runs& runs) {
  std::vector<Table::Column> columns{{"Kind"}, {"Wanted", true}};
  for (const char* what : {"Bagged", "Docum.", "First met"})
    for (const Run& run : runs) columns.push_back({fmt::format("{}, {}", what, run.name), true});
  Table table("Kinds wanted or met in either run.", columns);
  const auto& one = runs[0].debrief.last.whole;
  const auto& other = runs[1].debrief.last.whole;
  for (const std::string& rock : kinds_of(one, other)) {
    const std::array<const KindRow*, 2> rows{kind_in(one, rock), kind_in(other, rock)};
    if (std::ranges::none_of(
            rows, [](const KindRow* kind) { return kind && plates::says_something(*kind); }))
      continue;
    std::vector<Markup> cells{pen_of(runs).kind(rock)};
    const int wanted = (rows[0] ? rows[0] : rows[1])->wanted;
    cells.emplace_back(wanted > 0 ? fmt::format("{}", wanted) : "–");
    for (const auto member : {&KindRow::bagged, &KindRow::documented})
      for (const KindRow* kind : rows)
        cells.emplace_back(fmt::format("{}", kind ? kind->*member : 0));
    for (std::size_t i = 0; i < runs.size(); ++i)
      cells.emplace_back(rows[i] && rows[i]->first_seen ? runs[i].pen.elapsed(*rows[i]->first_seen)
                                                        : "not met");
    table.row(cells);
  }
  return table.empty() ? element("p", "No kind was wanted or met.") : table.markup();
}

Markup calls(Runs& runs) {
  Table table("Calls of the back room, and what became of them.",
              {{"Calls"}, {runs[0].name, true}, {runs[1].name, true}});
  const auto counted = [&](const char* name, auto&& fits) {
    row(table, runs, name, [&](const Run& run) {
      std::size_t n = 0;
      for (std::size_t i = 0; i < run.debrief.calls.size(); ++i) {
        const auto& call = call_made(run.debrief, i).call;
        if (protocol::only_states_a_chance(call)) continue;
        n += fits(call, run.debrief.calls[i].followed) ? 1 : 0;
      }
      return number(n);
    });
  };
  using protocol::Call;
  using protocol::Says;
  counted("All", [](const Call&, const Followed&) { return true; });
  for (const auto& [says, name] :
       {std::pair(Says::stay, "To stay"), std::pair(Says::move_on, "To move on"),
        std::pair(Says::get, "To get something first"), std::pair(Says::ask, "To ask")})
    counted(name, [says = says](const Call& call, const Followed&) { return call.says == says; });
  counted("In free words", [](const Call& call, const Followed&) {
    return call.says.value_or(Says::free) == Says::free;
  });
  counted("As the desk advised",
          [](const Call& call, const Followed&) { return call.advised.value_or(false); });
  counted("Acted on", [](const Call&, const Followed& after) { return after.acted.has_value(); });
  counted("Declined",
          [](const Call&, const Followed& after) { return after.declined.has_value(); });
  counted("Never answered",
          [](const Call&, const Followed& after) { return !after.heard.has_value(); });
  counted("Heard too late",
          [](const Call&, const Followed& after) { return after.heard_too_late(); });
  row(table, runs, "Chances stated",
      [](const Run& run) { return number(run.debrief.calls.size() - calls_to_hear(run.debrief)); });
  return table.markup();
}

struct Section {
  const char* id;
  const char* title;
  Markup (*write)(Runs&);
};

constexpr std::array both_sections{
    Section{"glance", "Both at a glance", glance},
    Section{"hours", "Planned and walked", hours},
    Section{"ground", "What the ground is made of", ground},
    Section{"kinds", "Kinds bagged and met", kinds},
    Section{"calls", "The calls", calls},
};

Markup heading(Runs& runs) {
  const auto& plan = *runs[0].debrief.picture->plan;
  Markup head = element("h1", plan.name);
  if (!plan.place.empty()) head += element("p", plan.place);
  for (const Run& run : runs)
    head += element("p", {{"class", "soft"}},
                    fmt::format("{}: {}, {}, from {}.", run.name, run.debrief.name, run.pen.date(),
                                run.pen.local(run.debrief.start)));
  head += element("p", {{"class", "soft"}},
                  "All times are hours and minutes from the planned start of either run.");
  return element("header", head);
}

}  // namespace

protocol::Result<std::string> side_by_side(const Debrief& first, const Debrief& second) {
  if (auto fault = why_not_one_plan(first, second)) return tl::unexpected(std::move(*fault));
  Runs runs{Run{first, Pen(first), "Run 1"}, Run{second, Pen(second), "Run 2"}};
  Markup page;
  for (const Section& section : both_sections)
    page += page_section(section.id, section.title, section.write(runs));
  const std::string name = first.picture->plan->name;
  return html_page({"Two runs: " + name, "Two runs side by side", name},
                   pen_of(runs).glyphs() + heading(runs) + element("main", page));
}

}  // namespace stonecall::debrief
