#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

/// What the load of the server benchmarks needs of each kind of server, so that one driver, at one
/// cost, does the same work with all of them.
namespace stonecall::benchmarks {

/// A TCP connection to 127.0.0.1, without Nagle's delay. Throws where none can be had.
class Connection {
 public:
  explicit Connection(std::uint16_t port);
  ~Connection();
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  int socket() const { return socket_; }
  /// All of it; waits as long as it takes.
  void write(std::string_view bytes);
  /// Waits for bytes and puts them behind `received`; false at the end of the stream.
  bool read(std::string& received);
  /// Puts what has come behind `received`, without waiting; false at the end of the stream.
  bool read_what_came(std::string& received);

 private:
  bool read(std::string& received, int flags);
  int socket_ = -1;
};

/// Posts one event after another, each once the one before is acknowledged.
struct Sender {
  std::unique_ptr<Connection> connection;
  std::function<std::string(std::string_view event)> request;
  /// Bytes of the acknowledgement that `received` begins with, 0 while it is not whole. Throws if
  /// the event was refused.
  std::function<std::size_t(std::string_view received)> acknowledged;
};

/// Follows what is posted, as a desk does.
struct Follower {
  std::unique_ptr<Connection> connection;
  /// Takes the whole messages off the front and counts the events in them. May write.
  std::function<std::size_t(std::string& received)> events;
};

/// A server that events are sent to.
struct Party {
  std::string name;
  std::function<Sender()> sender;
  std::function<Follower()> follower;  ///< from now on; empty if it has no such thing
};

}  // namespace stonecall::benchmarks
