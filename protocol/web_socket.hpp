#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include <boost/asio/awaitable.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http/fields.hpp>
#include <boost/beast/http/message.hpp>
#include <boost/beast/http/string_body.hpp>

#include "protocol/byte_stream.hpp"

namespace stonecall::protocol {

/// One end of a WebSocket (RFC 6455) that speaks in text messages. Beast's, behind a wall: it takes
/// longest of all to compile, and server and client both need it. A read and a write may be under
/// way together; all belongs to the stream's strand.
class WebSocket {
 public:
  using Error = boost::beast::error_code;
  using Request = boost::beast::http::request<boost::beast::http::string_body>;
  using Response = boost::beast::http::response<boost::beast::http::string_body>;
  using Fields = boost::beast::http::fields;
  using Buffer = boost::beast::flat_buffer;

  struct Options {
    std::chrono::steady_clock::duration greeting;  ///< for the opening handshake
    std::chrono::steady_clock::duration silence;   ///< of the other end, before it is given up
    bool pings = false;             ///< ask a silent end whether it is there, at half that time
    std::size_t message_bytes = 0;  ///< longest message that is read
    std::function<void()> on_pong = [] {};
  };

  WebSocket(ByteStream stream, Options options);
  ~WebSocket();
  WebSocket(const WebSocket&) = delete;
  WebSocket& operator=(const WebSocket&) = delete;

  ByteStream& stream();

  /// The server's half of the opening: answers `upgrade`, with `fields` besides what is due.
  boost::asio::awaitable<Error> accept(const Request& upgrade, const Fields& fields);

  /// The client's half. Where the server answers with something else than an upgrade the answer is
  /// left in `response`, and the error is websocket::error::upgrade_declined.
  boost::asio::awaitable<Error> open(const std::string& host, const std::string& target,
                                     const Fields& fields, Response& response);

  /// The next whole message, put behind what `buffer` holds.
  boost::asio::awaitable<Error> read(Buffer& buffer);
  bool got_text() const;             ///< the last message read was text
  std::string close_reason() const;  ///< why the other end closed; may be empty

  boost::asio::awaitable<Error> write(std::string_view message);
  boost::asio::awaitable<Error> ping();
  /// `code` as RFC 6455, 7.4.1; `why` is cut to what a close frame holds.
  boost::asio::awaitable<Error> close(std::uint16_t code, std::string_view why);

 private:
  class Beast;
  std::unique_ptr<Beast> beast_;
};

}  // namespace stonecall::protocol
