#include "server/server.hpp"

#include <optional>
#include <thread>
#include <vector>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <spdlog/spdlog.h>

#include "server/await.hpp"
#include "server/http_session.hpp"

namespace stonecall::server {

namespace net = boost::asio;
using tcp = net::ip::tcp;

namespace {
constexpr std::size_t reader_threads = 2;
constexpr auto pause_after_failed_accept = std::chrono::milliseconds(100);

/// A connection's coroutine ended; an exception here is a mistake of ours and ends only that
/// connection.
void log_end(const char* who, const std::exception_ptr& error) {
  if (!error) return;
  try {
    std::rethrow_exception(error);
  } catch (const std::exception& exception) {
    spdlog::error("{} ended by an exception: {}", who, exception.what());
  }
}
}  // namespace

class Server::Running {
 public:
  Running(ServerOptions options)
      : options_(std::move(options)),
        hub_(options_.queue_bytes, [this](auto wait) { hand_out_in(wait); }),
        connections_(options_.connections),
        rate_(options_.requests_per_second) {}

  std::optional<std::string> start() {
    boost::system::error_code error;
    const auto address = net::ip::make_address(options_.address, error);
    if (error) return options_.address + " is not an IP address";
    if (options_.access.open() && !address.is_loopback()) {
      return "without tokens the server listens on a loopback address only (127.0.0.1 or ::1), not "
             "on " +
             options_.address;
    }
    if (!options_.certificate.empty()) {
      if (auto why_not = prepare_tls()) return why_not;
    }
    StoreOptions store_options;
    store_options.file = options_.store;
    store_options.max_pages = options_.store_max_pages;
    store_options.clock = [this] { return clock_.now(); };
    store_options.commit_soon = [this] { net::post(io_, [this] { store_->commit_waiting(); }); };
    store_options.on_commit = [this](std::vector<Page> pages) { hub_.publish(std::move(pages)); };
    auto store = Store::open(std::move(store_options));
    if (!store) return store.error();
    store_ = std::move(*store);
    hub_.begin(store_->newest());
    if (!options_.log.empty()) {
      if (auto why_not = why_not_played(*store_, options_.log, options_.play)) return why_not;
      player_ = std::make_unique<Player>(*store_, clock_, std::move(options_.log), options_.play);
    }

    const tcp::endpoint endpoint(address, options_.port);
    acceptor_.open(endpoint.protocol(), error);
    if (!error) acceptor_.set_option(net::socket_base::reuse_address(true), error);
    if (!error) acceptor_.bind(endpoint, error);
    if (!error) acceptor_.listen(net::socket_base::max_listen_connections, error);
    if (error)
      return "cannot listen on " + options_.address + ":" + std::to_string(options_.port) + ": " +
             error.message();
    local_ = acceptor_.local_endpoint();

    context_.reset(new Context{*store_, hub_, clock_, options_.access, connections_, rate_,
                               readers_, options_.timing, player_.get()});
    net::co_spawn(acceptor_.get_executor(), accept(),
                  [](const std::exception_ptr& failed) { log_end("listener", failed); });
    for (unsigned i = 0; i < options_.threads; ++i) {
      threads_.emplace_back([this] { io_.run(); });
    }
    return std::nullopt;
  }

  ~Running() { stop(std::chrono::seconds(10)); }

  void stop(std::chrono::milliseconds patience) {
    if (std::exchange(stopped_, true)) return;
    if (player_) player_->end();
    if (!threads_.empty()) {
      net::post(acceptor_.get_executor(), [this] {
        boost::system::error_code ignored;
        acceptor_.close(ignored);
      });
      if (const std::size_t cut = connections_.stop(patience)) {
        spdlog::warn("server: {} connections did not end in time and were cut", cut);
      }
    }
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
    readers_.join();
    player_.reset();
    store_.reset();
  }

  std::optional<std::string> prepare_tls() {
    namespace ssl = net::ssl;
    tls_.emplace(ssl::context::tls_server);
    SSL_CTX_set_min_proto_version(tls_->native_handle(), TLS1_2_VERSION);
    boost::system::error_code error;
    tls_->use_certificate_chain_file(options_.certificate.string(), error);
    if (error)
      return "cannot use the certificate " + options_.certificate.string() + ": " + error.message();
    warn_of_times(SSL_CTX_get0_certificate(tls_->native_handle()));
    // Nobody is there to be asked, also where there is a terminal.
    bool encrypted = false;
    tls_->set_password_callback([&](std::size_t, ssl::context::password_purpose) {
      encrypted = true;
      return std::string();
    });
    tls_->use_private_key_file(options_.key.string(), ssl::context::pem, error);
    if (encrypted)
      return "the key " + options_.key.string() +
             " is encrypted, and nobody is asked for its pass phrase: write it out with openssl "
             "pkey, readable for the server alone";
    if (error)
      return "cannot use the key " + options_.key.string() +
             " with that certificate: " + error.message();
    return std::nullopt;
  }

  /// Served all the same: the clock here may be what is wrong.
  void warn_of_times(const X509* certificate) const {
    const std::string file = options_.certificate.string();
    if (X509_cmp_current_time(X509_get0_notAfter(certificate)) < 0)
      spdlog::warn("server: the certificate {} has expired; desks and phones will not trust it",
                   file);
    if (X509_cmp_current_time(X509_get0_notBefore(certificate)) > 0)
      spdlog::warn("server: the certificate {} is not valid yet; is the clock here right?", file);
  }

  net::awaitable<void> greet_and_serve(protocol::ByteStream stream,
                                       std::shared_ptr<Connection> connection) {
    connection->cut = connection->on_stop = [&tcp = stream.tcp()] { tcp.close(); };
    stream.tcp().expires_after(options_.timing.header);
    const auto error = co_await stream.handshake(boost::beast::role_type::server);
    connection->cut = connection->on_stop = nullptr;
    if (error) {
      spdlog::debug("server: TLS handshake failed: {}", error.message());
      co_return;
    }
    co_await serve(*context_, std::move(stream), connection);
  }

  void hand_out_in(std::chrono::steady_clock::duration wait) {
    net::post(acceptor_.get_executor(), [this, wait] {
      if (wait <= wait.zero()) return hub_.hand_out();
      hand_out_.expires_after(wait);
      hand_out_.async_wait([this](boost::system::error_code error) {
        if (!error) hub_.hand_out();
      });
    });
  }

  /// One thread is a strand by itself.
  net::any_io_executor strand() {
    if (options_.threads == 1) return io_.get_executor();
    return net::make_strand(io_);
  }

  net::awaitable<void> accept() {
    for (;;) {
      auto [error, socket] = co_await acceptor_.async_accept(strand(), no_throw);
      if (error) {
        if (!acceptor_.is_open() || error == net::error::operation_aborted) co_return;
        spdlog::warn("server: accept failed: {}", error.message());
        net::steady_timer pause(acceptor_.get_executor(), pause_after_failed_accept);
        co_await pause.async_wait(no_throw);
        continue;
      }
      boost::system::error_code ignored;
      socket.set_option(tcp::no_delay(true), ignored);
      auto connection = std::make_shared<Connection>();
      connection->strand = socket.get_executor();
      connection->peer = socket.remote_endpoint(ignored).address();
      if (!connections_.add(connection)) continue;  // closes it
      protocol::ByteStream::Tcp tcp_stream(std::move(socket));
      auto stream = tls_ ? protocol::ByteStream(std::move(tcp_stream), *tls_)
                         : protocol::ByteStream(std::move(tcp_stream));
      net::co_spawn(connection->strand, greet_and_serve(std::move(stream), connection),
                    [this, connection](const std::exception_ptr& failed) {
                      log_end("connection", failed);
                      connections_.remove(connection);
                    });
    }
  }

  ServerOptions options_;
  ServerClock clock_;
  Hub hub_;
  Connections connections_;
  RateLimit rate_;
  std::unique_ptr<Store> store_;
  std::unique_ptr<Player> player_;
  net::thread_pool readers_{reader_threads};
  std::unique_ptr<Context> context_;
  std::optional<net::ssl::context> tls_;
  net::io_context io_{static_cast<int>(options_.threads)};
  net::executor_work_guard<net::io_context::executor_type> work_{io_.get_executor()};
  tcp::acceptor acceptor_{net::make_strand(io_)};
  net::steady_timer hand_out_{acceptor_.get_executor()};
  tcp::endpoint local_;
  std::vector<std::thread> threads_;
  bool stopped_ = false;
};

Server::Server(std::unique_ptr<Running> running) : running_(std::move(running)) {}
Server::~Server() = default;

tl::expected<std::unique_ptr<Server>, std::string> Server::start(ServerOptions options) {
  auto running = std::make_unique<Running>(std::move(options));
  if (auto error = running->start()) return tl::unexpected(*error);
  return std::unique_ptr<Server>(new Server(std::move(running)));
}

void Server::stop(std::chrono::milliseconds patience) {
  running_->stop(patience);
}

std::string Server::address() const {
  const auto& at = running_->local_;
  const std::string host = at.address().to_string();
  return (at.address().is_v6() ? "[" + host + "]" : host) + ":" + std::to_string(at.port());
}

std::uint16_t Server::port() const {
  return running_->local_.port();
}
Store& Server::store() {
  return *running_->store_;
}
ServerClock& Server::clock() {
  return running_->clock_;
}
const Context& Server::context() const {
  return *running_->context_;
}

}  // namespace stonecall::server
