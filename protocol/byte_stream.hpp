#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <string>
#include <utility>

#include <boost/asio/any_completion_handler.hpp>
#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/as_tuple.hpp>
#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core/role.hpp>
#include <boost/beast/core/tcp_stream.hpp>

namespace boost::asio::ssl {
class context;
}

namespace stonecall::protocol {

/// What a coroutine waits with: errors come as values.
inline constexpr auto no_throw = boost::asio::as_tuple(boost::asio::use_awaitable);

/// A TCP connection, plain or under TLS, as one type, so that what is spoken over it is compiled
/// once and not once for each. Meets Asio's AsyncReadStream and AsyncWriteStream, and what Beast's
/// WebSocket asks of the layer below it.
class ByteStream {
 public:
  using executor_type = boost::asio::any_io_executor;
  using Tcp = boost::beast::tcp_stream;
  using Error = boost::beast::error_code;
  using Moved = boost::asio::any_completion_handler<void(Error, std::size_t)>;
  using Ended = boost::asio::any_completion_handler<void(Error)>;

  /// The first few of a sequence of buffers; an operation on "some" may leave the rest.
  template <class Buffer>
  class Few {
   public:
    using value_type = Buffer;
    using const_iterator = const Buffer*;
    template <class Sequence>
    explicit Few(const Sequence& all) {
      const auto end = boost::asio::buffer_sequence_end(all);
      for (auto at = boost::asio::buffer_sequence_begin(all); at != end; ++at) {
        if (count_ == few_.size()) break;
        if (Buffer(*at).size() > 0) few_[count_++] = *at;
      }
    }
    const_iterator begin() const { return few_.data(); }
    const_iterator end() const { return few_.data() + count_; }

   private:
    std::array<Buffer, 8> few_{};
    std::size_t count_ = 0;
  };
  using Into = Few<boost::asio::mutable_buffer>;
  using From = Few<boost::asio::const_buffer>;

  explicit ByteStream(Tcp tcp);
  /// Under TLS, once handshake() has been waited for. `context` must outlive the stream.
  ByteStream(Tcp tcp, boost::asio::ssl::context& context);
  ~ByteStream();
  ByteStream(ByteStream&&) noexcept;
  ByteStream& operator=(ByteStream&&) noexcept;

  executor_type get_executor() { return tcp().get_executor(); }
  /// The socket with its timeouts; Beast finds it by this name.
  Tcp& next_layer();
  Tcp& tcp() { return next_layer(); }
  bool secure() const;

  /// As a client under TLS: the name that the server's certificate has to be of, and is asked for.
  void expect_host(const std::string& host);
  /// TLS's greeting; nothing to do on a plain stream.
  boost::asio::awaitable<Error> handshake(boost::beast::role_type role);
  /// TLS's farewell; nothing to do on a plain stream.
  boost::asio::awaitable<Error> farewell();

  boost::asio::awaitable<std::pair<Error, std::size_t>> read_some(boost::asio::mutable_buffer into);
  /// All of it.
  boost::asio::awaitable<Error> write(boost::asio::const_buffer from);

  template <class Buffers, class Token>
  auto async_read_some(const Buffers& buffers, Token&& token) {
    return boost::asio::async_initiate<Token, void(Error, std::size_t)>(
        [this](auto handler, const Into& into) { read_some(into, Moved(std::move(handler))); },
        token, Into(buffers));
  }
  template <class Buffers, class Token>
  auto async_write_some(const Buffers& buffers, Token&& token) {
    return boost::asio::async_initiate<Token, void(Error, std::size_t)>(
        [this](auto handler, const From& from) { write_some(from, Moved(std::move(handler))); },
        token, From(buffers));
  }

  /// Beast ends a WebSocket with these.
  template <class Handler>
  friend void async_teardown(boost::beast::role_type role, ByteStream& stream, Handler&& handler) {
    stream.teardown(role, Ended(std::forward<Handler>(handler)));
  }

 private:
  struct Layer;
  struct PlainLayer;
  struct SecureLayer;
  void read_some(const Into& into, Moved moved);
  void write_some(const From& from, Moved moved);
  void teardown(boost::beast::role_type role, Ended ended);

  std::unique_ptr<Layer> layer_;
};

}  // namespace stonecall::protocol
