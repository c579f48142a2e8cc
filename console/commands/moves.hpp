#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "protocol/time.hpp"

/// Where a party was, as far as that is sure without anybody calling an arrival.
namespace stonecall::commands {

/// One thing said, or written down, that bears on it.
struct Clue {
  /// At one moment they count in this order.
  enum class What {
    arrived,  ///< said
    present,  ///< at `station` by what was said or written otherwise; `why` says by what
    told,     ///< something of the ground was told: the party stood somewhere
    left      ///< said; of `station` or of where it was, `towards` where that was said
  };
  protocol::Instant at{};
  What what = What::told;
  std::string station{}, towards{}, why{};
};

struct InferredArrival {
  protocol::Instant at{};
  std::string station;
  std::string why;
};

/// Facts of the ground of which nothing says where they belong.
struct NowhereTold {
  protocol::Instant from{}, to{};
  std::size_t facts = 0;
  std::string towards;  ///< where the party was heading; empty: not said
};

struct Moves {
  std::vector<InferredArrival> arrivals;
  std::vector<NowhereTold> nowhere;
};

/// Arrivals that nobody called and that are sure all the same. On the way, one sign that the party
/// is at a station is enough, and so is leaving it by name; leaving without a name is leaving the
/// station it was heading for, where something was told in between. At a station, a sign of another
/// one is an error of somebody's unless all signs up to the next word of moving agree, two at
/// least. Such an arrival stands at the first thing told since they left where they were heading
/// for that station, else at the sign. Leaving the base needs no arrival. `clues` in any order.
Moves infer_moves(std::vector<Clue> clues, const std::string& base);

}  // namespace stonecall::commands
