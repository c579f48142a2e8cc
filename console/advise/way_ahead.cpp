#include "console/advise/way_ahead.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace stonecall::advise {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace

int whole_minutes_up(double minutes) {
  // A hair above a whole minute is rounding noise of the way it was worked out.
  return minutes > longest_journey_minutes ? Grid::never
                                           : static_cast<int>(std::ceil(minutes - 1e-9));
}

Grid on_grid(const Journey& journey) {
  Grid grid;
  grid.minutes_left = static_cast<int>(
      std::floor(std::min(journey.minutes_left, double{longest_journey_minutes}) + 1e-9));
  const std::size_t n = journey.ahead.size();
  grid.to_base.push_back(whole_minutes_up(journey.base_from_here));
  grid.walks.assign(n + 1, std::vector<int>(n + 1, Grid::never));
  for (std::size_t i = 0; i < n; ++i) {
    grid.to_base.push_back(whole_minutes_up(journey.ahead[i].to_base));
    grid.walks[0][i + 1] = whole_minutes_up(journey.ahead[i].from_here);
    for (std::size_t j = 0; j < i; ++j)
      grid.walks[j + 1][i + 1] = whole_minutes_up(journey.ahead[i].from_earlier[j]);
  }
  return grid;
}

std::vector<Stop> stops_of(const Grid& grid, const Stays& stays, int leave) {
  std::vector<Stop> stops;
  std::size_t place = 0;
  int time = leave;
  for (std::size_t p = 1; p < stays.size(); ++p) {
    if (stays[p] == 0) continue;
    time += grid.walks[place][p];
    stops.push_back({p - 1, time, stays[p]});
    time += stays[p];
    place = p;
  }
  return stops;
}

Stays best_separate_stays(const Grid& grid, const std::vector<std::vector<double>>& gains,
                          int left) {
  assert(left >= grid.to_base[0]);
  const std::size_t places = grid.to_base.size();
  const auto columns = static_cast<std::size_t>(left) + 1;
  // leaving[p][m]: best gain after leaving place p with m minutes left; arriving likewise.
  std::vector<std::vector<double>> leaving(places, std::vector<double>(columns, -infinity));
  auto arriving = leaving;
  for (std::size_t p = places; p-- > 0;) {
    for (std::size_t m = 0; m < columns; ++m)
      if (static_cast<int>(m) >= grid.to_base[p]) leaving[p][m] = 0;
    for (std::size_t q = p + 1; q < places; ++q) {
      const auto walk = static_cast<std::size_t>(grid.walks[p][q]);
      for (std::size_t m = walk; m < columns; ++m)
        leaving[p][m] = std::max(leaving[p][m], arriving[q][m - walk]);
    }
    if (p == 0) break;
    double* const arrive = arriving[p].data();
    const double* const leave = leaving[p].data();
    for (std::size_t stay = 1; stay < columns; ++stay) {
      const double gain = gains[p][stay];
      for (std::size_t m = stay; m < columns; ++m)
        arrive[m] = std::max(arrive[m], gain + leave[m - stay]);
    }
  }

  Stays stays(places, 0);
  std::size_t place = 0;
  auto m = static_cast<std::size_t>(left);
  while (true) {
    const bool can_go_home = static_cast<int>(m) >= grid.to_base[place];
    if (can_go_home && leaving[place][m] == 0) return stays;
    std::size_t to = 0;
    for (std::size_t q = place + 1; q < places && to == 0; ++q) {
      const auto walk = static_cast<std::size_t>(grid.walks[place][q]);
      if (walk <= m && arriving[q][m - walk] == leaving[place][m]) to = q;
    }
    assert(to > 0 && "leaving is finite: the party can get home");
    m -= static_cast<std::size_t>(grid.walks[place][to]);
    for (std::size_t stay = 1; stay <= m; ++stay)
      if (gains[to][stay] + leaving[to][m - stay] == arriving[to][m]) {
        stays[to] = static_cast<int>(stay);
        m -= stay;
        break;
      }
    assert(stays[to] > 0);
    place = to;
  }
}

Met Walker::met_here(double minutes) {
  Met met = meeting_.nothing_met();
  meeting_.stay(0, minutes, met, looks_[0]);
  return met;
}

Met Walker::met_after(Met met, const Stays& stays) {
  for (std::size_t p = 1; p < stays.size(); ++p) meeting_.stay(p, stays[p], met, looks_[p]);
  return met;
}

std::vector<Met> Walker::met_along(const Met& met_here, const Stays& stays) {
  std::vector<Met> along{met_here, met_here};
  for (std::size_t p = 1; p < stays.size(); ++p) {
    along.push_back(along.back());
    meeting_.stay(p, stays[p], along.back(), looks_[p]);
  }
  return along;
}

Planner::Planner(Walker& walker, const Grid& grid)
    : walker_(walker), meeting_(walker.meeting()), grid_(grid) {
  // Every minute at first, then wider: gains bend less and less.
  int step = 1;
  for (int m = 0; m <= grid.minutes_left + step; m += step) {
    if (m == 24) step = 2;
    if (m == 48) step = 4;
    if (m == 96) step = 8;
    knots_.push_back(m);
  }
}

Plan Planner::plan(const Met& met_here, int left, std::span<const Plan> known, int rounds) {
  Plan best{Stays(grid_.to_base.size(), 0), 0};
  best.gain = meeting_.mean_gained(met_here);
  for (const Plan& start : known)
    if (fits(start.stays, left)) keep_better(best, start.stays, met_here);
  Stays reference = best.stays;
  for (int round = 0; round < rounds; ++round) {
    const Stays found = best_separate_stays(grid_, gains(met_here, reference, left), left);
    keep_better(best, found, met_here);
    if (found == reference) break;
    reference = found;
  }
  return best;
}

bool Planner::fits(const Stays& stays, int left) const {
  std::size_t place = 0;
  for (std::size_t p = 1; p < stays.size(); ++p) {
    if (stays[p] == 0) continue;
    left -= grid_.walks[place][p] + stays[p];
    place = p;
  }
  return left >= grid_.to_base[place];
}

void Planner::keep_better(Plan& best, const Stays& stays, const Met& met_here) {
  const double gain = meeting_.mean_gained(walker_.met_after(met_here, stays));
  if (gain > best.gain) best = {stays, gain};
}

std::vector<std::vector<double>> Planner::gains(const Met& met_here, const Stays& reference,
                                                int left) {
  const auto along = walker_.met_along(met_here, reference);
  std::vector<std::vector<double>> by_place(reference.size());
  for (std::size_t p = 1; p < reference.size(); ++p) by_place[p] = mean_gains(p, along, left);
  return by_place;
}

std::vector<double> Planner::mean_gains(std::size_t place, const std::vector<Met>& along,
                                        int left) const {
  std::vector<float> later = along.back().mean;
  for (std::size_t c = 0; c < later.size(); ++c)
    later[c] = std::max(0.f, later[c] - along[place + 1].mean[c]);
  const auto rows = meeting_.gains_of_stay(place, along[place], later, knots_);
  std::vector<double> means(knots_.size(), 0.0);
  for (std::size_t d = 0; d < meeting_.draws(); ++d)
    for (std::size_t k = 0; k < means.size(); ++k) means[k] += rows[d * means.size() + k];
  std::vector<double> gains(static_cast<std::size_t>(left) + 1);
  std::size_t k = 0;
  for (int m = 0; m <= left; ++m) {
    while (knots_[k + 1] < m) ++k;
    const double part = (m - knots_[k]) / (knots_[k + 1] - knots_[k]);
    gains[static_cast<std::size_t>(m)] =
        (means[k] + part * (means[k + 1] - means[k])) / static_cast<double>(meeting_.draws());
  }
  return gains;
}

}  // namespace stonecall::advise
