#include <algorithm>

#include <fmt/format.h>

#include "console/debrief/sections/sections.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief::sections {
namespace {

std::string ending(const Debrief& debrief, const Pen& pen) {
  const auto& picture = *debrief.picture;
  if (const auto back = back_at_base(picture)) {
    const double spare =
        picture.plan->duration_minutes - protocol::in_minutes(*back - debrief.start);
    return fmt::format("The party was back at {} at {}, {} {} the planned end.",
                       picture.plan->base.station, pen.elapsed(*back),
                       minutes_text(std::abs(spare)), spare < 0 ? "after" : "before");
  }
  const auto* visit = picture::visit_at(picture, debrief.end);
  return fmt::format("The log ends at {} with the party {}.", pen.elapsed(debrief.end),
                     visit ? "at " + visit->station : "on the way");
}

std::string outcome_of_wants(const Debrief& debrief) {
  int wanted = 0, in_full = 0;
  std::vector<std::string> short_of;
  for (const auto& row : debrief.last.whole.kinds) {
    if (row.wanted == 0) continue;
    ++wanted;
    if (row.bagged >= row.wanted)
      ++in_full;
    else
      short_of.push_back(fmt::format("{} ({} of {})", row.rock, row.bagged, row.wanted));
  }
  if (wanted == 0) return "The plan wanted no kind by name.";
  if (short_of.empty())
    return fmt::format("All {} wanted by name came home in full number.",
                       count(static_cast<std::size_t>(wanted), "kind", "kinds"));
  return fmt::format("Of {} wanted by name {} came home in full number; short of {}.",
                     count(static_cast<std::size_t>(wanted), "kind", "kinds"), in_full,
                     listed(short_of));
}

std::string outcome_of_calls(const Debrief& debrief) {
  std::size_t acted = 0, declined = 0, heard = 0, unanswered = 0, late = 0;
  for (std::size_t i = 0; i < debrief.calls.size(); ++i) {
    if (protocol::only_states_a_chance(call_made(debrief, i).call)) continue;
    const auto& after = debrief.calls[i].followed;
    ++(after.acted ? acted : after.declined ? declined : after.heard ? heard : unanswered);
    if (after.heard_too_late()) ++late;
  }
  const std::size_t made = calls_to_hear(debrief);
  std::string text = "The back room made no call";
  if (made > 0)
    text = fmt::format("The back room made {}: {} acted on, {} heard, {} declined",
                       count(made, "call", "calls"), acted, heard, declined);
  if (unanswered > 0) text += fmt::format(", {} not answered", unanswered);
  text += ".";
  if (late > 0)
    text += late == 1 ? std::string(" One was heard later than it said it was useful.")
                      : fmt::format(" {} were heard later than they said they were useful.", late);
  if (const auto chances = debrief.calls.size() - made; chances > 0)
    text += " It stated " + count(chances, "chance", "chances") + ".";
  return text;
}

Markup key_figures(const Debrief& debrief, const Pen& pen) {
  Markup list;
  const auto put = [&](const Markup& name, const std::string& value, const std::string& beside) {
    list += element("li", element("span", {{"class", "soft"}}, name) + " " + element("b", value) +
                              " " + element("span", {{"class", "soft"}}, beside));
  };
  const auto& picture = *debrief.picture;
  if (picture.plan) {
    const auto back = back_at_base(picture);
    put("Back at base", back ? pen.elapsed(*back) : "–",
        "of " +
            protocol::elapsed_minutes_text(protocol::from_minutes(picture.plan->duration_minutes)));
    const auto walked = static_cast<std::size_t>(std::ranges::count_if(
        debrief.stops, [](const Stop& s) { return s.planned_arrival && !s.stays.empty(); }));
    put("Stops reached", fmt::format("{}", walked),
        fmt::format("of {}", picture.plan->stations.size()));
  }
  put("Fully documented", fmt::format("{}", debrief.last.documented),
      fmt::format("of {} bagged", debrief.last.bagged));
  const auto met = std::ranges::count_if(
      debrief.last.whole.kinds, [](const auto& row) { return row.first_seen.has_value(); });
  const auto in_counts = std::ranges::count_if(debrief.last.whole.kinds,
                                               [](const auto& row) { return row.counted > 0; });
  put("Kinds met", fmt::format("{}", met), fmt::format("{} in counts", in_counts));
  const auto& basis = debrief.last.whole.basis;
  put("Rocks counted", fmt::format("{}", basis.counted), "in " + counted_in(basis));
  return element("ul", {{"class", "figures"}}, list);
}

Markup kinds_table(const Debrief& debrief, const Pen& pen) {
  Table table(
      "Kinds wanted or met, in the plan's order. Share: of the rocks counted without "
      "choosing, whole exercise, mean and 90 % interval.",
      {{"Kind"},
       {"Wanted", true},
       {"Bagged", true},
       {"Documented", true},
       {"Counted", true},
       {"Share, %", true},
       {"First met"}});
  for (const auto& row : debrief.last.whole.kinds) {
    if (!plates::says_something(row)) continue;
    std::string where;
    for (const Stop& stop : debrief.stops) {
      for (const auto& there : stop.ground.kinds)
        if (there.rock == row.rock && there.first_seen && there.first_seen == row.first_seen)
          where = ", " + stop.station;
    }
    table.row({pen.kind(row.rock), row.wanted > 0 ? fmt::format("{}", row.wanted) : "–",
               fmt::format("{}", row.bagged), fmt::format("{}", row.documented),
               fmt::format("{}", row.counted),
               row.share ? plates::share_text(*row.share) : "no basis",
               row.first_seen ? pen.elapsed(*row.first_seen) + where : "not met"});
  }
  return table.empty() ? Markup{} : table.markup();
}

}  // namespace

Markup glance(const Debrief& debrief, Pen& pen) {
  const auto& picture = *debrief.picture;
  Markup page;
  if (picture.plan && !picture.plan->notes.empty()) page += element("p", picture.plan->notes);
  std::string result =
      ending(debrief, pen) + " " + outcome_of_wants(debrief) + " " + outcome_of_calls(debrief);
  std::vector<std::string> outages;
  for (const auto& outage : debrief.outages)
    outages.push_back(pen.elapsed(outage.from) + " and " + pen.elapsed(outage.until));
  if (!outages.empty()) {
    result += " Nothing from the field came through between ";
    for (std::size_t i = 0; i < outages.size(); ++i)
      result += (i > 0 ? ", nor between " : "") + outages[i];
    result += ".";
  }
  page += element("p", result);
  page += key_figures(debrief, pen);
  page += kinds_table(debrief, pen);
  return page;
}

}  // namespace stonecall::debrief::sections
