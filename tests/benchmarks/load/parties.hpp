#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "tests/benchmarks/load/connection.hpp"

namespace stonecall::benchmarks {

/// Our server at a port; a sender posts over WebSocket or over HTTP.
Party stonecall_over_websocket(std::uint16_t port);
Party stonecall_over_http(std::uint16_t port);
/// One of our desks that begins after an event that it has.
Follower stonecall_desk(std::uint16_t port, std::uint64_t after);

/// Streams: XADD, and XREAD BLOCK as desks.
Party redis_streams(std::uint16_t port);
/// Puts so many events into the stream, many in one go.
void fill_redis(std::uint16_t port, std::size_t events);
Follower redis_desk_from_the_start(std::uint16_t port);

/// QoS 1 both ways (MQTT 3.1.1, OASIS 2014).
Party mosquitto(std::uint16_t port);

/// One INSERT a commit (PostgreSQL's protocol 3.0, simple queries); nothing follows.
Party postgresql(std::uint16_t port);

/// A server of another make, in a process of its own, with its files in a folder; killed with this.
class Other {
 public:
  /// Runs the words; throws if nothing listens at the port in time.
  Other(std::vector<std::string> words, std::uint16_t port);
  ~Other();
  Other(const Other&) = delete;
  Other& operator=(const Other&) = delete;

  std::uint16_t port() const { return port_; }
  int pid() const { return pid_; }

 private:
  int pid_ = -1;
  std::uint16_t port_ = 0;
};

/// A port that was free a moment ago.
std::uint16_t free_port();

/// Null, with a line to say so, where they are not installed. Each waits for the disk as
/// dependably as it can: Redis with `appendfsync always`, PostgreSQL as it comes; mosquitto has no
/// such setting and answers from memory.
std::unique_ptr<Other> start_redis(const std::filesystem::path& folder);
std::unique_ptr<Other> start_mosquitto(const std::filesystem::path& folder);
std::unique_ptr<Other> start_postgresql(const std::filesystem::path& folder);

/// Most memory a process has had at a time, MiB (Linux).
double most_memory(int pid);

}  // namespace stonecall::benchmarks
