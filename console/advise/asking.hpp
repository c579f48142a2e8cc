#pragma once

#include <random>
#include <span>

#include "console/advise/allocation.hpp"

/// Is a question worth the party's time? The expected value of sample information of a tally.
namespace stonecall::advise {

/// A tally as it would be asked for.
struct TallyAsked {
  int rocks = 10;
  double minutes = 1;     ///< of the party's time
  int simulations = 200;  ///< tallies drawn from the posterior predictive
  /// From now until a call made on the answer can be acted on: whoever waits for the answer does
  /// not leave before.
  double acted_on_in_minutes = 0;
};

struct WorthOfAsking {
  double gain = 0;  ///< expected worth gained by deciding after the tally, before its cost; below 0
                    ///< where the best time to leave is past before the answer is there
  double cost = 0;  ///< worth of the minutes it takes
  double p_changes = 0;  ///< chance that it would move the best departure by five minutes or more
  bool worth_it() const { return gain > cost; }
};

/// Draws tallies from the posterior predictive, re-weights the draws by each tally's likelihood (no
/// new plan is made: the gains of each departure are in the table) and sees how much better the
/// departure chosen then does. Raiffa & Schlaifer (1961) Applied Statistical Decision Theory: value
/// of sample information.
WorthOfAsking worth_of_asking(const Departure& departure, std::span<const Draw> draws,
                              const TallyAsked& tally, std::mt19937_64& random);

}  // namespace stonecall::advise
