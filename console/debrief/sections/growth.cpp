#include <numeric>

#include <fmt/format.h>

#include "console/advise/evidence.hpp"
#include "console/charts/curves.hpp"
#include "console/debrief/sections/sections.hpp"
#include "console/estimate/diversity.hpp"
#include "console/plates/kinds_plate.hpp"

namespace stonecall::debrief::sections {
namespace {

void row(Table& table, const std::string& name, const advise::Ground& ground) {
  if (!ground.unseen) return;
  const auto& unseen = *ground.unseen;
  table.row({name, fmt::format("{}", unseen.counted), fmt::format("{}", unseen.kinds_met),
             fmt::format("{:.1f} ({:.1f}–{:.1f})", unseen.chao1.mean, unseen.chao1.low,
                         unseen.chao1.high),
             plates::share_text(unseen.coverage), plates::share_text(unseen.next_is_new)});
}

std::string figure(const estimate::HillNumber& number) {
  return fmt::format("{:.1f} ({:.1f}–{:.1f})", number.value, number.interval.lower,
                     number.interval.upper);
}

/// A station, or the whole exercise (no name). Rocks outside the kinds of the list are of no one
/// kind and stay out.
void variety_row(Table& table, const std::string& name, const std::string& station,
                 const Debrief& debrief) {
  const advise::Where where{station};
  auto evidence =
      advise::evidence_at(*debrief.picture, debrief.learned, where, debrief.picture->kinds);
  const double patchiness = advise::patchiness_of(evidence, debrief.learned, where);
  for (auto& look : evidence.looks) look.pop_back();
  --evidence.classes;
  const auto counts = advise::counts_of(evidence);
  const auto varied = estimate::diversity(counts);
  if (!varied) return;
  const auto ground = estimate::ground_diversity(evidence.looks, patchiness);
  const auto shown = [&](estimate::HillNumber estimate::GroundDiversity::*order) {
    return ground ? figure((*ground).*order) : std::string("no basis");
  };
  table.row({name, fmt::format("{}", std::reduce(counts.begin(), counts.end())),
             fmt::format("{:.0f}", varied->kinds), shown(&estimate::GroundDiversity::kinds),
             fmt::format("{:.1f}", varied->common), shown(&estimate::GroundDiversity::common),
             fmt::format("{:.1f}", varied->dominant), shown(&estimate::GroundDiversity::dominant)});
}

Markup variety(const Debrief& debrief) {
  Table table(
      "How varied the ground is: so many equally common kinds would be as varied (Hill numbers; "
      "Hill 1973). q = 0 takes all kinds alike, q = 1 each by how common it is, q = 2 the "
      "commonest "
      "foremost: far fewer for q = 2 than for q = 0 means that a few kinds are most of the ground. "
      "Beside what was counted stands the ground, kinds not met included (Chao & Jost 2015), with "
      "its 90 % interval: of q = 0 Chao1, which is “at least”; of the others by a bootstrap of the "
      "looks (Chao et al. 2014) that draws them as patchy as they were. Chosen samples are not in "
      "it.",
      {{"Place", false, true},
       {"Counted by kind", true},
       {"q\u00A0=\u00A00", true},
       {"Ground, at least", true},
       {"q\u00A0=\u00A01", true},
       {"Ground", true},
       {"q\u00A0=\u00A02", true},
       {"Ground", true}});
  for (const Stop& stop : debrief.stops) variety_row(table, stop.station, stop.station, debrief);
  variety_row(table, "Whole exercise", "", debrief);
  return table.empty() ? Markup{} : table.markup();
}

}  // namespace

Markup growth(const Debrief& debrief, Pen& pen) {
  const auto& whole = debrief.last.whole;
  if (!whole.unseen && whole.basis.counted > 0)
    return element("p", "No basis: too little was counted to say anything of kinds not seen.");
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
      "interval), going by the counts; what was only bagged or sighted tells nothing of that. "
      "Covered: part of the rocks lying there whose kinds have been met.",
      {{"Place"},
       {"Counted", true},
       {"Kinds met", true},
       {"Kinds there are", true},
       {"Covered", true},
       {"Next rock is new", true}});
  for (const Stop& stop : debrief.stops) row(table, stop.station, stop.ground);
  row(table, "Whole exercise", whole);
  return page + table.markup() + variety(debrief);
}

}  // namespace stonecall::debrief::sections
