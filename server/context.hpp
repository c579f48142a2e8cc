#pragma once

#include <array>
#include <atomic>
#include <chrono>
#include <cstdint>

#include <boost/asio/thread_pool.hpp>

#include "server/access.hpp"
#include "server/clock.hpp"
#include "server/connections.hpp"
#include "server/hub.hpp"
#include "server/player.hpp"
#include "server/rate_limit.hpp"
#include "server/store.hpp"

namespace stonecall::server {

struct Timing {
  std::chrono::milliseconds heartbeat{1'000};
  std::chrono::seconds header{
      10};  ///< for a request's header, once the connection is open or its last answer is out
  std::chrono::seconds body{30};  ///< for a request's body, and for each part of an answer
  std::chrono::seconds silence{
      30};  ///< a live connection that is silent for this long is pinged, then closed
};

/// What every connection works with. It outlives them.
struct Context {
  Store& store;
  Hub& hub;
  const ServerClock& clock;
  const Access& access;
  Connections& connections;
  RateLimit& rate;
  boost::asio::thread_pool& readers;  ///< where the store is read
  Timing timing;
  Player* player = nullptr;  ///< of the log that is played, if one is

  std::array<std::atomic<std::uint64_t>, 6>
      answers{};                              ///< HTTP answers by first digit of the status
  std::atomic<std::uint64_t> live_posts = 0;  ///< posts over WebSocket
};

}  // namespace stonecall::server
