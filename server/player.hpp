#pragma once

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>
#include <thread>
#include <vector>

#include <tl/expected.hpp>

#include "protocol/event.hpp"
#include "server/clock.hpp"
#include "server/store.hpp"

namespace stonecall::server {

struct PlayOptions {
  double speed = 1;  ///< above 0
  std::optional<std::chrono::milliseconds>
      from;  ///< into the exercise; what came before is posted at once
  /// Into the exercise: the clock keeps its pace until then, also past the log's end.
  std::optional<std::chrono::milliseconds> until;
  bool wait = false;  ///< until begin() is called
  /// For those who practise on it: how much is still to come is not told, and they may pause but
  /// not hurry on.
  bool unseen = false;
};

/// What an adviser asks of a log that is being played; what is empty stays as it is.
struct PlayChange {
  std::optional<bool> paused;
  std::optional<double> speed;                  ///< above 0
  std::optional<std::chrono::milliseconds> to;  ///< elapsed time to go on from; not a past one
};

struct PlayState {
  std::chrono::milliseconds elapsed{};  ///< by the log's clock, since start()
  std::chrono::milliseconds end{};      ///< elapsed time of the last event
  double speed = 1;                     ///< while it is not paused
  bool paused = false;
  bool waiting = false;    ///< for the first desk
  std::size_t played = 0;  ///< events stored so far
  std::size_t events = 0;
  bool unseen = false;  ///< nobody is to be told of `end` and `events`
};

/// Why a log is not to be played into this store; empty: nothing speaks against it. It holds
/// nothing, or what was played of the same log before (where it is not for eyes, no more than comes
/// before the position), and the log is not over at the position.
std::optional<std::string> why_not_played(const Store& store,
                                          const std::vector<protocol::EventPtr>& events,
                                          const PlayOptions& options);

/// Plays a recorded log as if it were live: each event goes through the store when the server's
/// clock, which then is the log's, reaches the time it was received (or, if the log does not say,
/// happened). `id`, `at`, `from` and `received` stay as recorded, so that a store that got nothing
/// else holds the log again.
class Player {
 public:
  /// `events` in the order of the log; `store` and `clock` outlive the player. Comes back once what
  /// came before the position is stored, so that nobody sees the clock there without it.
  Player(Store& store, ServerClock& clock, std::vector<protocol::EventPtr> events,
         PlayOptions options);
  ~Player();  ///< as end()
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  void begin();  ///< ends the waiting; any thread
  void end();    ///< plays no further; what was not yet played is not stored

  /// Any thread. The error is a sentence: what has happened stays, a log that has ended is over.
  tl::expected<void, std::string> change(const PlayChange& change);
  PlayState state() const;  ///< any thread

  /// When the exercise begins by its log: the start of its plan, else its first event.
  protocol::Timestamp start() const { return start_; }

 private:
  void play(const std::stop_token& stop);
  /// All is stored, and the clock has been where it was to go.
  bool over() const;
  /// The events whose time has come by then, as many as go into one post.
  std::vector<protocol::EventPtr> due_by(protocol::Instant now) const;
  bool post(const std::vector<protocol::EventPtr>& events);
  void run_clock(const protocol::Timestamp& from);  ///< on from there, or held there

  Store& store_;
  ServerClock& clock_;
  const std::vector<protocol::EventPtr> events_;
  const PlayOptions options_;
  const protocol::Timestamp start_;
  protocol::Instant end_{};
  mutable std::mutex mutex_;
  std::condition_variable_any wake_;
  std::size_t next_ = 0;  ///< the first event not yet stored
  double speed_;
  bool begun_ = false;
  bool paused_ = false;
  bool changed_ = false;
  std::optional<protocol::Instant> to_;
  std::jthread thread_;
};

}  // namespace stonecall::server
