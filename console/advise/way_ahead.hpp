#pragma once

#include <span>
#include <vector>

#include "console/advise/allocation.hpp"
#include "console/advise/meeting.hpp"

/// The best plan for the rest of the way once the party has left: which stations, how long at each.
namespace stonecall::advise {

/// The journey on the one-minute grid. Place 0 is here, 1 … n the stations ahead.
struct Grid {
  int minutes_left = 0;
  std::vector<int> to_base;             ///< from each place; `never` where there is no way
  std::vector<std::vector<int>> walks;  ///< from each place to each later one
  static constexpr int never = 1 << 20;
};

/// Longer journeys are cut to this.
inline constexpr int longest_journey_minutes = 1440;

/// Walks are rounded up, minutes left down.
Grid on_grid(const Journey& journey);
int whole_minutes_up(double minutes);

/// Minutes of stay at each place; 0: passed by. Place 0 is not used.
using Stays = std::vector<int>;

/// The stops of a plan for one who leaves here `leave` minutes from now.
std::vector<Stop> stops_of(const Grid& grid, const Stays& stays, int leave);

/// The best stays when the gains of the places ahead do not depend on each other: dynamic
/// programming from the last place back. gains[p][m] ≥ 0 is the gain of m minutes at place p, m up
/// to `left`, the minutes that remain on leaving here: enough to go straight back to base.
Stays best_separate_stays(const Grid& grid, const std::vector<std::vector<double>>& gains,
                          int left);

/// Walks plans through the draws, and remembers each place's look-times as the first guess for the
/// next, like plan.
class Walker {
 public:
  explicit Walker(const Meeting& meeting) : meeting_(meeting), looks_(meeting.stations()) {}

  const Meeting& meeting() const { return meeting_; }

  /// What is met here by so many minutes of looking and handling.
  Met met_here(double minutes);

  /// What is met in all, under a plan of stays.
  Met met_after(Met met, const Stays& stays);

  /// What is met before each place p, [p], and in all, the last.
  std::vector<Met> met_along(const Met& met_here, const Stays& stays);

 private:
  const Meeting& meeting_;
  std::vector<Looks> looks_;
};

struct Plan {
  Stays stays;
  double gain = 0;  ///< mean over the walker's draws, from now to the end
};

/// Finds the best stays ahead for a departure. The gain of one place depends on the others where
/// they hold the same kinds, so places are valued against a reference plan, and the plan found
/// becomes the next reference; each plan is judged by its true joint gain and the best one seen is
/// kept. Where no kind is met twice the first round is exact.
class Planner {
 public:
  Planner(Walker& walker, const Grid& grid);

  /// `met_here`: what is met before leaving; `left`: minutes then left; `known`: plans worth
  /// trying.
  Plan plan(const Met& met_here, int left, std::span<const Plan> known, int rounds);

 private:
  bool fits(const Stays& stays, int left) const;
  void keep_better(Plan& best, const Stays& stays, const Met& met_here);
  std::vector<std::vector<double>> gains(const Met& met_here, const Stays& reference, int left);
  std::vector<double> mean_gains(std::size_t place, const std::vector<Met>& along, int left) const;

  Walker& walker_;
  const Meeting& meeting_;
  const Grid& grid_;
  std::vector<double> knots_;  ///< minutes of stay for which gains are worked out
};

}  // namespace stonecall::advise
