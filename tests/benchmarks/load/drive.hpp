#pragma once

#include <cstddef>
#include <string>
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
  double per_second = 0;
  double median_ms = 0;  ///< from sending to the acknowledgement
  double p99_ms = 0;
};

/// `senders` connections post for so many seconds, all driven by one thread.
Acknowledged post(const Party& party, int senders, double seconds);

struct Delay {
  double median_ms = 0;
  double p99_ms = 0;
};

/// From the sending of an event to its coming at each of `desks` desks; all driven by one thread.
/// Throws if an event did not come.
Delay post_to_desks(const Party& party, int desks, int events, double per_second);

/// Events a second that `desks` desks together get, while `senders` post without pause; counted
/// until each desk has each event.
double flat_out(const Party& party, int senders, int desks, double seconds);

/// How long it takes to get so many events that are stored already, seconds.
double catch_up(Follower follower, std::size_t events);

double median(std::vector<double> values);

}  // namespace stonecall::benchmarks
