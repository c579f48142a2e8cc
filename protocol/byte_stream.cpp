#include "protocol/byte_stream.hpp"

#include <boost/asio/bind_executor.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/host_name_verification.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/ssl/ssl_stream.hpp>
#include <boost/beast/websocket/ssl.hpp>
#include <boost/beast/websocket/teardown.hpp>

namespace stonecall::protocol {

namespace net = boost::asio;
namespace beast = boost::beast;

namespace {

/// The executor of a handler that hides its type can only be dispatched to; Beast posts as well.
/// All that a stream's user does runs on the stream's own executor, so that one can stand in.
template <class Handler>
auto on(ByteStream::Tcp& tcp, Handler handler) {
  return net::bind_executor(tcp.get_executor(), std::move(handler));
}

}  // namespace

struct ByteStream::Layer {
  virtual ~Layer() = default;
  virtual Tcp& tcp() = 0;
  virtual bool secure() const = 0;
  virtual void expect_host(const std::string& host) = 0;
  virtual void handshake(beast::role_type role, Ended ended) = 0;
  virtual void farewell(Ended ended) = 0;
  virtual void read_some(const Into& into, Moved moved) = 0;
  virtual void write_some(const From& from, Moved moved) = 0;
  virtual void teardown(beast::role_type role, Ended ended) = 0;
};

struct ByteStream::PlainLayer : Layer {
  explicit PlainLayer(Tcp tcp) : tcp_(std::move(tcp)) {}
  Tcp& tcp() override { return tcp_; }
  bool secure() const override { return false; }
  void expect_host(const std::string&) override {}
  void handshake(beast::role_type, Ended) override {}
  void farewell(Ended) override {}
  void read_some(const Into& into, Moved moved) override {
    tcp_.async_read_some(into, on(tcp_, std::move(moved)));
  }
  void write_some(const From& from, Moved moved) override {
    tcp_.async_write_some(from, on(tcp_, std::move(moved)));
  }
  void teardown(beast::role_type role, Ended ended) override {
    beast::websocket::async_teardown(role, tcp_.socket(), on(tcp_, std::move(ended)));
  }

  Tcp tcp_;
};

struct ByteStream::SecureLayer : Layer {
  SecureLayer(Tcp tcp, net::ssl::context& context) : tls_(std::move(tcp), context) {}
  Tcp& tcp() override { return tls_.next_layer(); }
  bool secure() const override { return true; }
  void expect_host(const std::string& host) override {
    beast::error_code ignored;
    tls_.set_verify_mode(net::ssl::verify_peer, ignored);
    tls_.set_verify_callback(net::ssl::host_name_verification(host), ignored);
    beast::error_code is_name;
    net::ip::make_address(host, is_name);
    if (is_name) SSL_set_tlsext_host_name(tls_.native_handle(), host.c_str());
  }
  void handshake(beast::role_type role, Ended ended) override {
    tls_.async_handshake(role == beast::role_type::client ? net::ssl::stream_base::client
                                                          : net::ssl::stream_base::server,
                         on(tcp(), std::move(ended)));
  }
  void farewell(Ended ended) override { tls_.async_shutdown(on(tcp(), std::move(ended))); }
  void read_some(const Into& into, Moved moved) override {
    tls_.async_read_some(into, on(tcp(), std::move(moved)));
  }
  void write_some(const From& from, Moved moved) override {
    tls_.async_write_some(from, on(tcp(), std::move(moved)));
  }
  void teardown(beast::role_type role, Ended ended) override {
    async_teardown(role, tls_, on(tcp(), std::move(ended)));
  }

  beast::ssl_stream<Tcp> tls_;
};

ByteStream::ByteStream(Tcp tcp) : layer_(std::make_unique<PlainLayer>(std::move(tcp))) {}
ByteStream::ByteStream(Tcp tcp, net::ssl::context& context)
    : layer_(std::make_unique<SecureLayer>(std::move(tcp), context)) {}
ByteStream::~ByteStream() = default;
ByteStream::ByteStream(ByteStream&&) noexcept = default;
ByteStream& ByteStream::operator=(ByteStream&&) noexcept = default;

ByteStream::Tcp& ByteStream::next_layer() {
  return layer_->tcp();
}

bool ByteStream::secure() const {
  return layer_->secure();
}

void ByteStream::expect_host(const std::string& host) {
  layer_->expect_host(host);
}

net::awaitable<ByteStream::Error> ByteStream::handshake(beast::role_type role) {
  if (!secure()) co_return Error{};
  const auto [error] = co_await net::async_initiate<decltype(no_throw), void(Error)>(
      [this, role](auto handler) { layer_->handshake(role, Ended(std::move(handler))); }, no_throw);
  co_return error;
}

net::awaitable<ByteStream::Error> ByteStream::farewell() {
  if (!secure()) co_return Error{};
  const auto [error] = co_await net::async_initiate<decltype(no_throw), void(Error)>(
      [this](auto handler) { layer_->farewell(Ended(std::move(handler))); }, no_throw);
  co_return error;
}

net::awaitable<std::pair<ByteStream::Error, std::size_t>> ByteStream::read_some(
    net::mutable_buffer into) {
  const auto [error, bytes] = co_await async_read_some(into, no_throw);
  co_return std::pair{error, bytes};
}

net::awaitable<ByteStream::Error> ByteStream::write(net::const_buffer from) {
  const auto [error, bytes] = co_await net::async_write(*this, from, no_throw);
  co_return error;
}

void ByteStream::read_some(const Into& into, Moved moved) {
  layer_->read_some(into, std::move(moved));
}

void ByteStream::write_some(const From& from, Moved moved) {
  layer_->write_some(from, std::move(moved));
}

void ByteStream::teardown(beast::role_type role, Ended ended) {
  layer_->teardown(role, std::move(ended));
}

}  // namespace stonecall::protocol
