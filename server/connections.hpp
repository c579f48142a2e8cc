#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <optional>
#include <unordered_set>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/ip/address.hpp>

namespace stonecall::server {

/// One open connection, as the stopping server sees it. All members belong to the connection's
/// strand.
struct Connection {
  boost::asio::any_io_executor strand;
  boost::asio::ip::address peer;
  bool stopping = false;
  std::function<void()>
      on_stop;                ///< called once asked to end: finish what was begun, take nothing new
  std::function<void()> cut;  ///< closes the socket at once

 private:
  friend class Connections;
  /// Where it stands among the strangers; guarded as they are.
  std::optional<std::list<std::shared_ptr<Connection>>::iterator> stranger_;
};

/// The connections that are open. Where there are too many, those that have not asked for anything
/// yet make room, the oldest first, so that nobody is kept out by silence or noise. Stopping is in
/// two steps: all are asked to finish, and those that have not done so in time are cut.
class Connections {
 public:
  explicit Connections(std::size_t most) : most_(most) {}

  bool add(const std::shared_ptr<Connection>& connection);  ///< false: too many, or stopping
  /// It has asked for something that it may have, and keeps its place from now on.
  void settle(const std::shared_ptr<Connection>& connection);
  void remove(const std::shared_ptr<Connection>& connection);

  /// Asks all to end, waits, insists. Blocks; not for network threads. Answers how many had to be
  /// cut.
  std::size_t stop(std::chrono::milliseconds patience);

  std::size_t open() const;
  std::uint64_t turned_away() const;

 private:
  void forget_stranger(Connection& connection);

  const std::size_t most_;
  mutable std::mutex mutex_;
  std::condition_variable fewer_;
  bool stopping_ = false;
  std::uint64_t turned_away_ = 0;
  std::unordered_set<std::shared_ptr<Connection>> open_;
  std::list<std::shared_ptr<Connection>> strangers_;  ///< have asked for nothing yet, oldest first
};

}  // namespace stonecall::server
