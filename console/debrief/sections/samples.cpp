#include <fmt/format.h>

#include "console/debrief/sections/sections.hpp"
#include "console/plates/sample_text.hpp"

namespace stonecall::debrief::sections {
namespace {

std::string place_of(const picture::Sample& sample, const picture::Picture& picture) {
  if (sample.place) return "coordinates";
  if (!sample.tie) return "–";
  std::string text =
      fmt::format("{:.0f} m at {:.0f}°", sample.tie->distance_metres, sample.tie->bearing_degrees);
  if (sample.tie->to && !(picture.plan && *sample.tie->to == picture.plan->base.station))
    text += " from " + *sample.tie->to;
  return text;
}

}  // namespace

namespace {

/// "typical", "uncommon" or "rare" by the shares of the station it was picked at.
std::string commonness_there(const Debrief& debrief, const picture::Sample& sample) {
  const auto* stop = stop_at(debrief, sample.station);
  if (!stop) return "–";
  const auto row = std::ranges::find(stop->ground.kinds, sample.rock, &advise::KindRow::rock);
  return row == stop->ground.kinds.end() || row->label.empty() ? "–" : row->label;
}

}  // namespace

Markup samples(const Debrief& debrief, Pen& pen) {
  const auto& picture = *debrief.picture;
  const auto standard = picture.plan ? picture.plan->documentation : protocol::Documentation{};
  Table table(
      "In order of the first word of each. There: how common its kind is at that station. Place: "
      "from base unless named. Chosen samples "
      "never enter a share of the ground.",
      {{"No."},
       {"Bag"},
       {"Kind", false, true},
       {"Station", false, true},
       {"There"},
       {"At", true},
       {"Place"},
       {"Chosen"},
       {"Lacks"}});
  std::size_t complete = 0, bagged = 0;
  Markup doubts;
  for (const auto& sample : picture.samples) {
    if (!sample.taken) continue;
    ++bagged;
    const auto gaps = picture::gaps(sample, standard);
    if (gaps.empty()) ++complete;
    std::vector<std::string> lacking;
    for (const auto gap : gaps) lacking.emplace_back(picture::words(gap));
    std::string lacks;
    for (const auto& each : lacking) lacks += (lacks.empty() ? "" : ", ") + each;
    table.row({sample.number.empty() ? "–" : sample.number, sample.bag.empty() ? "–" : sample.bag,
               pen.kind(sample.rock), sample.station.empty() ? "–" : sample.station,
               commonness_there(debrief, sample), pen.elapsed(sample.first),
               place_of(sample, picture), sample.unselective ? "no" : "yes",
               gaps.empty() ? element("span", {{"class", "soft"}}, "nothing") : Markup(lacks)});
    std::vector<std::string> lines = plates::contradictions(sample);
    if (picture.plan) {
      for (auto& line : plates::photo_doubts(sample, *picture.plan))
        lines.push_back(std::move(line));
    }
    for (const auto& line : lines)
      doubts += element("li", plates::sample_name(sample) + ": " + line);
  }
  if (bagged == 0) return element("p", "No sample was bagged.");
  Markup page =
      element("p", fmt::format("{} of {} have all that the plan asks of a documented sample.",
                               complete, count(bagged, "sample", "samples")));
  page += table.markup();
  if (!doubts.empty()) {
    page += element("h3", "Look at these again");
    page += element("ul", doubts);
  }
  return page;
}

}  // namespace stonecall::debrief::sections
