#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <tl/expected.hpp>

#include "protocol/event.hpp"
#include "server/access.hpp"
#include "server/clock.hpp"
#include "server/context.hpp"
#include "server/player.hpp"
#include "server/store.hpp"

namespace stonecall::server {

struct ServerOptions {
  std::filesystem::path store;
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;             ///< 0: a free one
  Access access;                      ///< without tokens only a loopback address is listened on
  std::filesystem::path certificate;  ///< PEM, with its chain; with it only TLS is spoken
  std::filesystem::path key;          ///< PEM, of the certificate
  std::size_t connections = 2'000;
  double requests_per_second = 0;             ///< of one address; 0: as many as it likes
  std::size_t queue_bytes = 4 * 1024 * 1024;  ///< bound of each console's queue
  unsigned threads = 1;                       ///< for the network
  Timing timing;
  std::uint32_t store_max_pages = 0;    ///< see StoreOptions
  std::vector<protocol::EventPtr> log;  ///< played as if it were live, see Player
  PlayOptions play;
};

/// The running server: store, network threads, connections.
class Server {
 public:
  /// The error is a sentence saying what stands in the way.
  static tl::expected<std::unique_ptr<Server>, std::string> start(ServerOptions options);

  /// stop() with ten seconds.
  ~Server();
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  /// Takes nothing new, finishes and answers what was begun, then closes; connections that have not
  /// ended within `patience` are cut. Nothing acknowledged is lost either way.
  void stop(std::chrono::milliseconds patience = std::chrono::seconds(10));

  std::string address() const;  ///< "127.0.0.1:7700"
  std::uint16_t port() const;
  Store& store();
  ServerClock& clock();
  const Context& context() const;

 private:
  class Running;
  explicit Server(std::unique_ptr<Running> running);
  std::unique_ptr<Running> running_;
};

}  // namespace stonecall::server
