#pragma once

#include <utility>
#include <vector>

#include "console/picture/fold.hpp"

/// An exercise that is over, as it came about.
namespace stonecall::debrief {

using picture::Instant;

/// Grows a picture moment by moment.
class Unfolding {
 public:
  using Timed = std::pair<Instant, protocol::EventPtr>;
  /// Each event with the moment from which it counts; of one moment in the order given.
  explicit Unfolding(std::vector<Timed> events);

  /// Moments may only grow.
  picture::PicturePtr by(Instant moment);

 private:
  std::vector<Timed> events_;
  std::size_t next_ = 0;
  picture::Fold fold_;
};

/// From what had been received.
Unfolding as_known(const std::vector<protocol::EventPtr>& events);

/// From what had happened, whether or not anybody had heard of it, read it from its note or put it
/// right: hindsight waits for none of these. `known` is the picture of all events: it has the times
/// that were put right.
Unfolding as_happened(const std::vector<protocol::EventPtr>& events, const picture::Picture& known);

}  // namespace stonecall::debrief
