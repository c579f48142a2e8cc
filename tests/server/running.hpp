#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core/buffers_to_string.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket.hpp>

#include "protocol/event.hpp"
#include "server/server.hpp"
#include "tests/support/folder.hpp"

/// Real sockets against a real server, for the tests: plain blocking calls.
namespace stonecall::server::tests {

namespace http = boost::beast::http;
namespace websocket = boost::beast::websocket;
using Json = protocol::Json;
using Tcp = boost::asio::ip::tcp;
using HttpAnswer = http::response<http::string_body>;

/// A server within this process, over a store of its own; throws where it does not start.
struct Running {
  explicit Running(ServerOptions options = {});
  std::uint16_t port() const { return server->port(); }
  stonecall::tests::Folder folder;
  std::unique_ptr<Server> server;
};

/// One HTTP connection.
class Http {
 public:
  explicit Http(std::uint16_t port);
  HttpAnswer send(http::verb method, const std::string& target, const std::string& body = {},
                  const std::string& type = "application/json",
                  const std::vector<std::pair<std::string, std::string>>& fields = {});
  HttpAnswer get(const std::string& target) { return send(http::verb::get, target); }
  HttpAnswer post(const std::string& body, const std::string& type = "application/json") {
    return send(http::verb::post, "/events", body, type);
  }
  Tcp::socket& socket() { return socket_; }

 private:
  boost::asio::io_context io_;
  Tcp::socket socket_;
  boost::beast::flat_buffer buffer_;
};

/// One live connection.
class Live {
 public:
  /// `after` empty: it only posts. Throws what the handshake fails with.
  explicit Live(std::uint16_t port, std::optional<Sequence> after = {},
                const std::string& token = {});
  Json read();                         ///< the next message
  Json read(const std::string& type);  ///< the next of this type; others are passed over
  void write(const std::string& text);
  /// Events in order, with what came between them left out, until their number is reached.
  std::vector<protocol::Event> events(std::size_t count);
  /// Posts and waits for the results.
  Json post(const std::string& body);
  websocket::stream<Tcp::socket>& stream() { return stream_; }

 private:
  boost::asio::io_context io_;
  websocket::stream<Tcp::socket> stream_;
  boost::beast::flat_buffer buffer_;
};

/// The stonecall-server program in a process of its own.
class Program {
 public:
  /// `before` is what the shell is told before the program's name, as "ulimit -f 100; exec".
  explicit Program(const std::string& arguments, const std::string& before = "exec",
                   const std::string& file = STONECALL_SERVER);
  ~Program();  ///< kills it if it still runs
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  std::uint16_t port() const { return port_; }  ///< 0 if it ended without an address
  int pid() const { return pid_; }
  void signal(int number);
  void let_files_grow();  ///< lifts the file-size limit it was started with
  int wait();             ///< exit code; 128 + signal if one ended it

 private:
  int pid_ = -1;
  int out_ = -1;
  std::uint16_t port_ = 0;
};

std::string lines_of(const std::vector<protocol::Event>& events);

/// GET /events, read back as events.
std::vector<protocol::Event> events_at(std::uint16_t port, Sequence after = 0);

}  // namespace stonecall::server::tests
