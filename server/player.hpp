#pragma once

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <stop_token>
#include <thread>
#include <vector>

#include "protocol/event.hpp"
#include "server/clock.hpp"
#include "server/store.hpp"

namespace stonecall::server {

struct PlayOptions {
  double speed = 1;  ///< above 0
  std::optional<std::chrono::milliseconds>
      from;           ///< into the exercise; what came before is posted at once
  bool wait = false;  ///< until begin() is called
};

/// Plays a recorded log as if it were live: each event goes through the store when the server's
/// clock, which then is the log's, reaches the time it was received (or, if the log does not say,
/// happened). `id`, `at`, `from` and `received` stay as recorded, so that a store that got nothing
/// else holds the log again.
class Player {
 public:
  /// `events` in the order of the log; `store` and `clock` outlive the player.
  Player(Store& store, ServerClock& clock, std::vector<protocol::EventPtr> events,
         PlayOptions options);

  void begin();  ///< ends the waiting; any thread

  /// When the exercise begins by its log: the start of its plan, else its first event.
  protocol::Timestamp start() const { return start_; }

 private:
  void play(const std::stop_token& stop);
  /// The events from number `next` on whose time has come, as many as go into one post.
  std::vector<protocol::EventPtr> due_after(std::size_t next) const;
  /// Waits, unless the player is to end.
  void pause(const std::stop_token& stop, std::chrono::duration<double, std::milli> time);
  bool post(const std::vector<protocol::EventPtr>& events);

  Store& store_;
  ServerClock& clock_;
  std::vector<protocol::EventPtr> events_;
  PlayOptions options_;
  protocol::Timestamp start_;
  protocol::Timestamp position_;
  std::mutex mutex_;
  std::condition_variable_any wake_;
  bool begun_ = false;
  std::jthread thread_;
};

}  // namespace stonecall::server
