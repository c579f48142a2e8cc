#pragma once

#include <chrono>
#include <mutex>
#include <optional>

#include "protocol/time.hpp"

namespace stonecall::server {

/// The clock that `received` and the heartbeats go by: the machine's, or that of a log that is
/// played. Any thread.
class ServerClock {
 public:
  using Steady = std::chrono::steady_clock;

  /// From now on the clock shows `from` and runs `speed` times as fast; once it reaches `until` it
  /// goes on at the usual pace.
  void play(protocol::Timestamp from, protocol::Instant until, double speed);
  /// Shows `at` and stands still until play().
  void hold(protocol::Timestamp at);

  protocol::Timestamp now() const;
  double speed() const;  ///< 1 for the machine's own, 0 while held

 private:
  struct Play {
    protocol::Timestamp from;
    protocol::Instant until;
    double speed = 1;
    Steady::time_point begun;
  };
  mutable std::mutex mutex_;
  std::optional<Play> play_;
};

}  // namespace stonecall::server
