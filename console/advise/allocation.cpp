#include "console/advise/allocation.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <string>

#include "console/advise/meeting.hpp"
#include "console/advise/way_ahead.hpp"

namespace stonecall::advise {
namespace {

using protocol::Fault;

/// Draws used to *find* plans; every plan is then valued under all draws.
constexpr std::size_t planning_draws = 48;

/// Smallest value with at least `part` of the values at or below it.
template <class T>
T quantile(std::vector<T>& values, double part) {
  const auto rank =
      static_cast<std::ptrdiff_t>(std::ceil(part * static_cast<double>(values.size())) - 1);
  const auto nth = values.begin() + std::max<std::ptrdiff_t>(rank, 0);
  std::nth_element(values.begin(), nth, values.end());
  return *nth;
}

Band band(std::vector<float>& values) {
  Band result;
  result.mean =
      std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
  result.low = quantile(values, 0.1);
  result.high = quantile(values, 0.9);
  return result;
}

/// Part of the draws in which leaving at `a` gains more than at `b` (columns of the table); a tie
/// counts half.
double part_better(const GainTable& table, std::size_t a, std::size_t b) {
  double better = 0;
  for (std::size_t d = 0; d < table.draws; ++d) {
    const auto gains = table.of_draw(d);
    better += gains[a] > gains[b] ? 1 : gains[a] == gains[b] ? 0.5 : 0;
  }
  return better / static_cast<double>(table.draws);
}

std::optional<Fault> fault_of(std::span<const Wanted> kinds, std::span<const Draw> draws,
                              const Journey& journey) {
  const auto bad = [](double value) { return !(std::isfinite(value) && value >= 0); };
  const auto bad_way = [](double minutes) { return !(minutes >= 0); };
  const auto at = [](const char* name, std::size_t i) {
    return std::string(name) + "[" + std::to_string(i) + "]";
  };
  for (std::size_t i = 0; i < kinds.size(); ++i)
    if (bad(kinds[i].weight) || bad(kinds[i].repeat) || kinds[i].repeat > 1 ||
        kinds[i].number < 0 || kinds[i].have < 0)
      return Fault{at("kinds", i), "weight and number must be at least 0, repeat 0 to 1", {}};
  if (draws.empty()) return Fault{"draws", "at least one is needed", {}};
  const auto bad_shares = [&](const std::vector<double>& shares) {
    return shares.size() != kinds.size() || std::any_of(shares.begin(), shares.end(), bad);
  };
  for (std::size_t d = 0; d < draws.size(); ++d) {
    const Draw& draw = draws[d];
    if (bad_shares(draw.here) || draw.ahead.size() != journey.ahead.size() ||
        std::any_of(draw.ahead.begin(), draw.ahead.end(), bad_shares))
      return Fault{
          at("draws", d), "one share of at least 0 a kind, here and at each station ahead", {}};
    if (bad(draw.looks_per_minute) || bad(draw.handling_minutes))
      return Fault{at("draws", d), "pace and handling time must be numbers of at least 0", {}};
  }
  if (bad(journey.minutes_left) || bad(journey.owed_minutes) || bad(journey.acts_in_minutes))
    return Fault{"journey", "minutes must be numbers of at least 0", {}};
  if (bad_way(journey.base_from_here))
    return Fault{"journey.base_from_here", "must be at least 0", {}};
  for (std::size_t i = 0; i < journey.ahead.size(); ++i) {
    const StationAhead& station = journey.ahead[i];
    if (station.from_earlier.size() != i ||
        std::any_of(station.from_earlier.begin(), station.from_earlier.end(), bad_way) ||
        bad_way(station.from_here) || bad_way(station.to_base))
      return Fault{
          at("journey.ahead", i), "one walk of at least 0 minutes from each earlier place", {}};
  }
  return {};
}

/// All departures of one journey, planned at some minutes and valued at every one.
class Valuation {
 public:
  Valuation(std::span<const Wanted> kinds, std::span<const Draw> draws, const Journey& journey,
            const Grid& grid, int earliest, int latest)
      : grid_(grid),
        owed_(journey.owed_minutes),
        earliest_(earliest),
        latest_(latest),
        all_(kinds, draws, journey.ahead.size(), 1),
        some_(kinds, draws, journey.ahead.size(),
              std::max<std::size_t>(1, draws.size() / planning_draws)),
        some_walker_(some_),
        all_walker_(all_),
        planner_(some_walker_, grid) {
    std::vector<double> looking;
    for (int m = earliest; m <= latest; ++m) looking.push_back(std::max(0.0, m - owed_));
    const Met nothing = all_.nothing_met();
    here_ = all_.gains_of_stay(0, nothing, nothing.mean, looking);
  }

  struct Node {
    int minute = 0;
    Plan plan;
    std::vector<double> ahead;  ///< per draw: what the stations ahead add
    double mean_gain = 0;
  };

  /// Plans the departure at `minute`, helped by the plans of the neighbours.
  void add(int minute) {
    const auto later = std::lower_bound(nodes_.begin(), nodes_.end(), minute,
                                        [](const Node& node, int m) { return node.minute < m; });
    if (later != nodes_.end() && later->minute == minute) return;
    std::vector<Plan> known;
    if (later != nodes_.end()) known.push_back(later->plan);
    if (later != nodes_.begin()) known.push_back(std::prev(later)->plan);

    Node node{minute, {}, {}, 0};
    node.plan = planner_.plan(some_walker_.met_here(minute - owed_), grid_.minutes_left - minute,
                              known, known.empty() ? 6 : 1);
    node.ahead =
        all_.gained(all_walker_.met_after(all_walker_.met_here(minute - owed_), node.plan.stays));
    for (std::size_t d = 0; d < all_.draws(); ++d) {
      node.mean_gain += node.ahead[d];
      node.ahead[d] -= here_of(d, minute);
    }
    node.mean_gain /= static_cast<double>(all_.draws());
    nodes_.insert(later, std::move(node));
  }

  const std::vector<Node>& nodes() const { return nodes_; }

  std::size_t best_node() const {
    // The first of equals: where nothing is gained by staying, leave.
    std::size_t best = 0;
    for (std::size_t i = 1; i < nodes_.size(); ++i)
      if (nodes_[i].mean_gain > nodes_[best].mean_gain + 1e-9) best = i;
    return best;
  }

  float here_of(std::size_t draw, int minute) const {
    return here_[draw * columns() + static_cast<std::size_t>(minute - earliest_)];
  }

  std::size_t columns() const { return static_cast<std::size_t>(latest_ - earliest_) + 1; }

  /// Gains of every draw and minute: here exact, ahead between the planned departures.
  GainTable table() const {
    GainTable table{all_.draws(), columns(), here_};
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
      const Node& a = nodes_[i];
      const Node& b = nodes_[std::min(i + 1, nodes_.size() - 1)];
      const int end = i + 1 < nodes_.size() ? b.minute : a.minute + 1;
      for (std::size_t d = 0; d < table.draws; ++d) {
        float* row = table.gains.data() + d * table.departures;
        const double slope = (b.ahead[d] - a.ahead[d]) / std::max(1, b.minute - a.minute);
        for (int m = a.minute; m < end; ++m)
          row[m - earliest_] += static_cast<float>(a.ahead[d] + slope * (m - a.minute));
      }
    }
    return table;
  }

  /// Mean worth gained by each kind in the end, leaving as `node` says.
  std::vector<double> gained_by_kind(const Node& node) {
    return some_.mean_gained_by_kind(
        some_walker_.met_after(some_walker_.met_here(node.minute - owed_), node.plan.stays));
  }

 private:
  const Grid& grid_;
  double owed_;
  int earliest_, latest_;
  Meeting all_, some_;
  Walker some_walker_, all_walker_;
  Planner planner_;
  GainRows here_;  ///< by staying here alone: draw, minute
  std::vector<Node> nodes_;
};

/// Minutes to plan first: all, where they are few; else the alternatives shown, then a dozen spread
/// evenly.
std::vector<int> first_minutes(int earliest, int latest) {
  std::vector<int> minutes{latest};
  const int step = std::max(1, (latest - earliest) / 12);
  for (int m = earliest; m < latest; m += m < earliest + 15 && step > 1 ? 5 : step)
    minutes.push_back(m);
  // Latest first: a plan that fits there fits all earlier departures.
  std::sort(minutes.rbegin(), minutes.rend());
  return minutes;
}

std::vector<CrossingPoint> crossing_of(const Valuation& valuation, const GainTable& table,
                                       int earliest) {
  std::vector<CrossingPoint> points;
  if (table.departures < 2) return points;
  std::vector<float> here(table.draws), elsewhere(table.draws);
  for (std::size_t m = 0; m < table.departures; ++m) {
    const std::size_t a = std::min(m, table.departures - 2);
    const int minute = earliest + static_cast<int>(a);
    for (std::size_t d = 0; d < table.draws; ++d) {
      const auto gains = table.of_draw(d);
      here[d] = valuation.here_of(d, minute + 1) - valuation.here_of(d, minute);
      elsewhere[d] = here[d] - (gains[a + 1] - gains[a]);
    }
    points.push_back({earliest + static_cast<int>(m), band(here), band(elsewhere)});
  }
  return points;
}

}  // namespace

protocol::Result<Departure> best_departure(std::span<const Wanted> kinds,
                                           std::span<const Draw> draws, const Journey& journey) {
  if (auto fault = fault_of(kinds, draws, journey)) return tl::unexpected(std::move(*fault));

  const Grid grid = on_grid(journey);
  Departure result;
  result.earliest = whole_minutes_up(journey.acts_in_minutes);
  result.latest = grid.minutes_left - grid.to_base[0];
  if (result.latest < result.earliest) {
    result.late = true;
    return result;
  }

  Valuation valuation(kinds, draws, journey, grid, result.earliest, result.latest);
  for (const int minute : first_minutes(result.earliest, result.latest)) valuation.add(minute);
  // Then closer and closer around the best, until both its neighbouring minutes are planned.
  for (bool closer = true; closer;) {
    const auto& nodes = valuation.nodes();
    const std::size_t best = valuation.best_node();
    const int minute = nodes[best].minute;
    const int before = best > 0 ? (nodes[best - 1].minute + minute) / 2 : minute;
    const int after = best + 1 < nodes.size() ? (nodes[best + 1].minute + minute + 1) / 2 : minute;
    const std::size_t planned = nodes.size();
    valuation.add(before);
    valuation.add(after);
    closer = valuation.nodes().size() > planned;
  }

  result.table = valuation.table();
  const GainTable& table = result.table;
  result.mean_gain.assign(table.departures, 0.0);
  std::vector<int> own_best;
  for (std::size_t d = 0; d < table.draws; ++d) {
    const auto gains = table.of_draw(d);
    for (std::size_t m = 0; m < table.departures; ++m) result.mean_gain[m] += gains[m];
    own_best.push_back(
        result.earliest +
        static_cast<int>(std::max_element(gains.begin(), gains.end()) - gains.begin()));
  }
  for (double& gain : result.mean_gain) gain /= static_cast<double>(table.draws);
  result.best_low = quantile(own_best, 0.1);
  result.best_high = quantile(own_best, 0.9);

  const auto& nodes = valuation.nodes();
  const auto& best = nodes[valuation.best_node()];
  result.best = best.minute;
  result.gain = best.mean_gain;
  result.stops = stops_of(grid, best.plan.stays, best.minute);
  result.stops_if_leaving = stops_of(grid, nodes.front().plan.stays, result.earliest);

  for (const int more : {5, 10, 15}) {
    const auto column = static_cast<std::size_t>(more);
    if (column >= table.departures) break;
    result.alternatives.push_back(
        {more, result.mean_gain[0], result.mean_gain[column], part_better(table, 0, column)});
  }

  // The other side of the comparison: leaving at once or, where that is best, the best stay worth
  // the name.
  const auto* other = &nodes.front();
  if (result.best == result.earliest)
    for (const auto& node : nodes)
      if (node.minute >= result.earliest + 5 &&
          (other == &nodes.front() || node.mean_gain > other->mean_gain))
        other = &node;
  result.p_best = other == &best
                      ? 1
                      : part_better(table, static_cast<std::size_t>(best.minute - result.earliest),
                                    static_cast<std::size_t>(other->minute - result.earliest));

  const auto& stay = best.minute == result.earliest ? *other : best;
  const auto by_staying = valuation.gained_by_kind(stay);
  const auto by_leaving = valuation.gained_by_kind(nodes.front());
  for (std::size_t k = 0; k < kinds.size(); ++k)
    result.kinds.push_back({k, by_staying[k] - by_leaving[k]});
  std::stable_sort(result.kinds.begin(), result.kinds.end(), [](const auto& a, const auto& b) {
    return std::abs(a.staying_adds) > std::abs(b.staying_adds);
  });

  result.crossing = crossing_of(valuation, table, result.earliest);
  return result;
}

}  // namespace stonecall::advise
