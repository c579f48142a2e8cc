#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <unordered_set>
#include <utility>
#include <vector>

#include "server/store.hpp"

namespace stonecall::server {

/// A message written once and sent to many.
using Message = std::shared_ptr<const std::string>;

struct EventsMessage {
  Sequence first = 0;
  Sequence last = 0;
  Message text;
};

/// `{"type":"event","events":[…]}` around events that are separated by commas.
EventsMessage events_message(const Page& page);

/// What waits for one live connection. The hub fills it; the connection takes from it on its own
/// strand.
class Console {
 public:
  /// How it is told that there is something to take: where the hub is locked it must only hand
  /// over, else it may take at once.
  enum class Wake { hand_over, take };
  explicit Console(std::function<void(Wake)> wake) : wake_(std::move(wake)) {}

 private:
  friend class Hub;
  std::function<void(Wake)> wake_;
  bool woken_ = false;
  bool listed_ = false;  ///< among those who are to be woken
  bool live_ = false;    ///< gets events from the hub; else it reads them from the store
  std::vector<EventsMessage> events_;
  std::size_t bytes_ = 0;
  std::vector<std::pair<std::uint64_t, Message>> answers_;
};

/// Hands what was committed to the live connections: at once, and under load what came within four
/// milliseconds in one message, so that many consoles cost little; a few consoles at a time, so
/// that posts are read in between. A console's queue is bounded; past the bound it is emptied and
/// the console goes back to reading from the store, so that a slow one costs the others nothing.
/// Any thread.
class Hub {
 public:
  /// `hand_out_in` is asked to call hand_out() after such a time; it may not call it itself.
  Hub(std::size_t queue_bytes, std::function<void(std::chrono::steady_clock::duration)> hand_out_in)
      : queue_bytes_(queue_bytes), hand_out_in_(std::move(hand_out_in)) {}

  void begin(Sequence newest);            ///< before the first publish
  void publish(std::vector<Page> pages);  ///< at least one
  void hand_out();

  void join(std::shared_ptr<Console> console);
  void leave(const std::shared_ptr<Console>& console);

  /// From now on the hub feeds this console, if `next` is the event after the newest: no gap, no
  /// repeat.
  bool go_live(Console& console, Sequence next);

  /// An answer to one of the console's own posts, by its number: never dropped, since the console
  /// bounds its posts.
  void answer(Console& console, std::uint64_t number, Message message);

  struct Taken {
    std::vector<EventsMessage> events;
    std::vector<std::pair<std::uint64_t, Message>> answers;
    bool live = false;  ///< still fed by the hub
  };
  Taken take(Console& console);

  Sequence newest() const;  ///< committed; not all consoles may have it yet
  std::size_t consoles() const;
  std::uint64_t dropped_to_catch_up() const;

 private:
  using Steady = std::chrono::steady_clock;

  Steady::duration until_next() const;  ///< how long the next handing out has to wait
  void deal();                          ///< what is pending into the queues of all who are live
  void wake_some();                     ///< of those who got something
  void end_live(Console& console);
  void wake(Console& console);

  const std::size_t queue_bytes_;
  const std::function<void(std::chrono::steady_clock::duration)> hand_out_in_;
  mutable std::mutex mutex_;
  Sequence newest_ = 0;
  std::vector<Page> pending_;  ///< committed and not handed out; empty while no console is live
  std::vector<std::shared_ptr<Console>> to_wake_;
  bool hand_out_due_ = false;      ///< or being done
  Steady::time_point paid_until_;  ///< each handing out pays for a while ahead
  std::size_t live_ = 0;
  std::uint64_t dropped_ = 0;
  std::unordered_set<std::shared_ptr<Console>> consoles_;
};

}  // namespace stonecall::server
