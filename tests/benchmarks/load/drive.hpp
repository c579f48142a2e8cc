#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "tests/benchmarks/load/connection.hpp"

namespace stonecall::benchmarks {

/// Events as a scribe's desk sends them: one JSON text, each time with another random id.
class Events {
 public:
  Events();
  const std::string& next();

 private:
  std::string text_;
  std::size_t id_ = 0;  ///< where the id stands in the text
  std::uint64_t state_;
};

struct Acknowledged {
  double seconds = 0;
  std::vector<double> times_ms;  ///< from sending to the acknowledgement, one for each event

  double per_second() const { return static_cast<double>(times_ms.size()) / seconds; }
};

/// `senders` connections post for so many seconds, all driven by one thread; added to `so_far`.
void post(const Party& party, int senders, double seconds, Acknowledged& so_far);

/// From the sending of each event to its coming at each of `desks` desks, ms; all driven by one
/// thread; added to `so_far`. Throws if an event did not come.
void post_to_desks(const Party& party, int desks, int events, double per_second,
                   std::vector<double>& so_far);

/// Events a second that `desks` desks together get, while `senders` post without pause; counted
/// until each desk has each event.
double flat_out(const Party& party, int senders, int desks, double seconds);

/// How long it takes to get so many events that are stored already, seconds.
double catch_up(Follower follower, std::size_t events);

/// The value below which this part of them lies; throws if there is none.
double percentile(std::vector<double> values, double part);

inline double median(std::vector<double> values) {
  return percentile(std::move(values), 0.5);
}

}  // namespace stonecall::benchmarks
