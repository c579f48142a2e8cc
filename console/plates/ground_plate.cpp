#include "console/plates/ground_plate.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include <fmt/format.h>

#include "console/advise/way_back.hpp"
#include "console/estimate/sun.hpp"

namespace stonecall::plates {
namespace {

using charts::GroundPoint;
using charts::PlanView;
using protocol::Plan;
using protocol::Position;

class Drawer {
 public:
  Drawer(const Plan& plan, GroundPlate& plate)
      : plan_(plan),
        plate_(plate),
        plane_(plan.base.position.latitude, plan.base.position.longitude) {}

  GroundPoint at(const Position& p) const { return plane_(p.latitude, p.longitude); }

  std::vector<GroundPoint> way(const std::vector<Position>& positions) const {
    std::vector<GroundPoint> points;
    for (const Position& p : positions) points.push_back(at(p));
    return points;
  }

  void place(const std::string& name, const Position& position, PlanView::Place::Kind kind,
             bool here) {
    index_.emplace(name, plate_.stations.size());
    plate_.stations.push_back(name);
    plate_.view.places.push_back(
        {.name = name, .at = at(position), .kind = kind, .here = here, .chosen = false});
  }

  std::optional<std::size_t> index_of(const std::string& station) const {
    auto found = index_.find(station);
    return found == index_.end() ? std::nullopt : std::optional(found->second);
  }

  void planned_way() {
    std::string from = plan_.base.station;
    for (const auto& stop : plan_.stations) {
      add(way(advise::way_to(plan_, from, stop.station)), PlanView::Way::Kind::planned);
      from = stop.station;
    }
    add(way(advise::way_back(plan_, from)), PlanView::Way::Kind::planned);
  }

  void walked_way(const picture::Picture& picture, picture::Instant now) {
    std::string from = plan_.base.station;
    for (const auto& visit : picture.visits) {
      if (visit.arrived > now) break;
      if (visit.station == from || !index_of(visit.station)) continue;
      bool home = visit.station == plan_.base.station;
      add(way(home ? advise::way_back(plan_, from) : advise::way_to(plan_, from, visit.station)),
          PlanView::Way::Kind::walked);
      from = visit.station;
    }
  }

  void add(std::vector<GroundPoint> points, PlanView::Way::Kind kind, std::string words = {}) {
    if (points.size() > 1)
      plate_.view.ways.push_back(
          {.points = std::move(points), .kind = kind, .words = std::move(words)});
  }

  /// Where a sample lay: its coordinates, else its tie, else only its station.
  void sample(const picture::Sample& s, std::size_t number, std::optional<std::size_t> series) {
    PlanView::Find find{.series = series, .at = {}, .place = index_of(s.station), .chosen = false};
    if (s.place) {
      find.at = at(*s.place);
    } else if (s.tie) {
      if (auto from = index_of(s.tie->to.value_or(plan_.base.station)))
        find.at = charts::along(plate_.view.places[*from].at, s.tie->bearing_degrees,
                                s.tie->distance_metres);
    }
    if (!find.at && !find.place) {
      ++plate_.without_place;
      return;
    }
    plate_.view.finds.push_back(find);
    plate_.samples.push_back(number);
  }

 private:
  const Plan& plan_;
  GroundPlate& plate_;
  charts::LocalPlane plane_;
  std::unordered_map<std::string, std::size_t> index_;
};

}  // namespace

std::string way_back_text(const advise::TurnBack& turn_back) {
  std::string length = turn_back.distance_metres >= 995
                           ? fmt::format("{:.1f} km", turn_back.distance_metres / 1000)
                           : fmt::format("{:.0f} m", turn_back.distance_metres);
  return fmt::format("{}, {:.0f} min + {:.0f} %", length, std::ceil(turn_back.walk_minutes),
                     turn_back.margin_percent);
}

GroundPlate ground_plate(const picture::Picture& picture, const advise::Assessment* assessment,
                         picture::Instant now) {
  GroundPlate plate;
  plate.view.title = "Ground of the exercise";
  if (!picture.plan) {
    plate.view.description = "No plan: no place is known.";
    return plate;
  }
  const Plan& plan = *picture.plan;
  Drawer draw(plan, plate);

  const picture::Visit* stay = picture::visit_at(picture, now);
  auto here = [&](const std::string& name) { return stay && stay->station == name; };
  auto visited = [&](const std::string& name) {
    return std::any_of(picture.visits.begin(), picture.visits.end(),
                       [&](const auto& v) { return v.station == name && v.arrived <= now; });
  };
  using Kind = PlanView::Place::Kind;
  draw.place(plan.base.station, plan.base.position, Kind::base, here(plan.base.station));
  for (const auto& s : plan.stations)
    draw.place(s.station, s.position, visited(s.station) ? Kind::visited : Kind::ahead,
               here(s.station));

  draw.planned_way();
  draw.walked_way(picture, now);
  if (assessment && assessment->turn_back) {
    const auto& back = *assessment->turn_back;
    draw.add(draw.way(advise::way_back(plan, back.from)), PlanView::Way::Kind::back,
             "return " + way_back_text(back));
  }

  std::unordered_map<std::string, std::size_t> series;
  for (std::size_t i = 0; i < picture.kinds.size(); ++i) series.emplace(picture.kinds[i], i);
  for (std::size_t i = 0; i < picture.samples.size(); ++i) {
    const auto& s = picture.samples[i];
    if (!s.taken || s.first > now) continue;
    auto found = series.find(s.rock);
    draw.sample(s, i, found == series.end() ? std::nullopt : std::optional(found->second));
  }

  auto sun =
      estimate::sun_position(now, {plan.base.position.latitude, plan.base.position.longitude});
  plate.sun = SunNow{sun.azimuth, sun.elevation};
  if (sun.elevation > 0) plate.view.sun_azimuth = sun.azimuth;

  plate.view.description = fmt::format("{} and {} stations; {} samples.", plan.base.station,
                                       plan.stations.size(), plate.view.finds.size());
  if (stay) plate.view.description += " The party is at " + stay->station + ".";
  if (assessment && assessment->turn_back)
    plate.view.description += " Way back: " + way_back_text(*assessment->turn_back) + ".";
  return plate;
}

}  // namespace stonecall::plates
