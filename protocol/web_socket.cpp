#include "protocol/web_socket.hpp"

#include <algorithm>
#include <utility>

#include <boost/beast/websocket.hpp>

namespace stonecall::protocol {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace websocket = beast::websocket;

namespace {

constexpr std::size_t longest_reason = 120;  // RFC 6455, 5.5 and 5.5.1, allow 123 bytes

void add(const WebSocket::Fields& from, WebSocket::Fields& to) {
  for (const auto& field : from) to.set(field.name_string(), field.value());
}

}  // namespace

class WebSocket::Beast {
 public:
  Beast(ByteStream stream, Options options)
      : socket(std::move(stream)), on_pong(std::move(options.on_pong)) {
    socket.set_option(
        websocket::stream_base::timeout{options.greeting, options.silence, options.pings});
    socket.read_message_max(options.message_bytes);
    socket.auto_fragment(false);
    socket.text(true);
    socket.control_callback([this](websocket::frame_type type, beast::string_view) {
      if (type == websocket::frame_type::pong) on_pong();
    });
  }

  websocket::stream<ByteStream> socket;
  std::function<void()> on_pong;
};

WebSocket::WebSocket(ByteStream stream, Options options)
    : beast_(std::make_unique<Beast>(std::move(stream), std::move(options))) {
  // The socket has its own times from here on.
  this->stream().tcp().expires_never();
}
WebSocket::~WebSocket() = default;

ByteStream& WebSocket::stream() {
  return beast_->socket.next_layer();
}

net::awaitable<WebSocket::Error> WebSocket::accept(const Request& upgrade, const Fields& fields) {
  beast_->socket.set_option(websocket::stream_base::decorator(
      [&fields](websocket::response_type& response) { add(fields, response); }));
  const auto [error] = co_await beast_->socket.async_accept(upgrade, no_throw);
  beast_->socket.set_option(websocket::stream_base::decorator([](websocket::response_type&) {}));
  co_return error;
}

net::awaitable<WebSocket::Error> WebSocket::open(const std::string& host, const std::string& target,
                                                 const Fields& fields, Response& response) {
  beast_->socket.set_option(websocket::stream_base::decorator(
      [&fields](websocket::request_type& request) { add(fields, request); }));
  const auto [error] = co_await beast_->socket.async_handshake(response, host, target, no_throw);
  beast_->socket.set_option(websocket::stream_base::decorator([](websocket::request_type&) {}));
  co_return error;
}

net::awaitable<WebSocket::Error> WebSocket::read(Buffer& buffer) {
  const auto [error, bytes] = co_await beast_->socket.async_read(buffer, no_throw);
  co_return error;
}

bool WebSocket::got_text() const {
  return beast_->socket.got_text();
}

std::string WebSocket::close_reason() const {
  return std::string(beast_->socket.reason().reason.c_str());
}

net::awaitable<WebSocket::Error> WebSocket::write(std::string_view message) {
  const auto [error, bytes] =
      co_await beast_->socket.async_write(net::buffer(message.data(), message.size()), no_throw);
  co_return error;
}

net::awaitable<WebSocket::Error> WebSocket::ping() {
  const auto [error] = co_await beast_->socket.async_ping({}, no_throw);
  co_return error;
}

net::awaitable<WebSocket::Error> WebSocket::close(std::uint16_t code, std::string_view why) {
  const websocket::close_reason reason(
      static_cast<websocket::close_code>(code),
      beast::string_view(why.data(), std::min(why.size(), longest_reason)));
  const auto [error] = co_await beast_->socket.async_close(reason, no_throw);
  co_return error;
}

}  // namespace stonecall::protocol
