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
};

struct WorthOfAsking {
  double gain = 0;       ///< expected worth gained by deciding after the tally, before its cost
  double cost = 0;       ///< worth of the minutes it takes
  double p_changes = 0;  ///< chance that the advised departure moves by five minutes or more
  bool worth_it() const { return gain > cost; }
};

/// Draws tallies from the posterior predictive, re-weights the draws by each tally's likelihood (no
/// new plan is made: the gains of each departure are in the table) and sees how much better the
/// departure chosen then does. Raiffa & Schlaifer (1961) Applied Statistical Decision Theory: value
/// of sample information.
WorthOfAsking worth_of_asking(const Departure& departure, std::span<const Draw> draws,
                              const TallyAsked& tally, std::mt19937_64& random);

}  // namespace stonecall::advise
