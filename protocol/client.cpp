#include "protocol/client.hpp"

#include <algorithm>
#include <charconv>
#include <condition_variable>
#include <deque>
#include <iterator>
#include <mutex>
#include <thread>
#include <utility>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/connect.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/websocket/error.hpp>

#include "protocol/event_reader.hpp"
#include "protocol/problem.hpp"
#include "protocol/web_socket.hpp"

namespace stonecall::protocol {
namespace {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace ssl = net::ssl;
namespace websocket = beast::websocket;
using tcp = net::ip::tcp;
using Steady = std::chrono::steady_clock;
using Phase = LinkState::Phase;

constexpr auto connect_time = std::chrono::seconds(10);
// A server heartbeats each second; one that says nothing for so long is gone, whatever TCP
// believes.
constexpr auto silence = std::chrono::seconds(10);
constexpr auto ping_each = std::chrono::seconds(5);
constexpr auto retry_pause = std::chrono::seconds(1);
constexpr int levels_around_event = 2;  // the message and its list
constexpr std::size_t message_bytes = 16 * 1024 * 1024;
constexpr std::size_t post_events = 100;
constexpr std::size_t post_bytes = 1024 * 1024;

Instant clock_now() {
  return std::chrono::floor<Milliseconds>(std::chrono::system_clock::now());
}

}  // namespace

Result<ServerAddress> parse_server_address(std::string_view text) {
  ServerAddress address;
  for (const std::string_view scheme : {"http://", "ws://", "https://", "wss://"}) {
    if (!text.starts_with(scheme)) continue;
    text.remove_prefix(scheme.size());
    address.secure = scheme == "https://" || scheme == "wss://";
    break;
  }
  if (text.ends_with('/')) text.remove_suffix(1);
  const Fault fault{"", "expected HOST:PORT, as 127.0.0.1:7700 or [::1]:7700", {}};
  const std::size_t colon = text.rfind(':');
  if (colon == std::string_view::npos || colon == 0) return tl::unexpected(fault);
  std::string_view host = text.substr(0, colon);
  if (host.front() == '[' && host.back() == ']') {
    host = host.substr(1, host.size() - 2);
  } else if (host.find(':') != std::string_view::npos) {
    return tl::unexpected(fault);
  }
  const std::string_view port = text.substr(colon + 1);
  const auto [end, error] = std::from_chars(port.data(), port.data() + port.size(), address.port);
  if (error != std::errc() || end != port.data() + port.size() || address.port == 0 ||
      host.empty()) {
    return tl::unexpected(fault);
  }
  address.host = host;
  return address;
}

Instant LinkState::server_time(Instant here) const {
  if (!clock_offset || !clock_taken) return here;
  const std::chrono::duration<double, std::milli> since = here - *clock_taken;
  return *clock_taken + *clock_offset +
         Milliseconds(static_cast<std::int64_t>(since.count() * clock_speed));
}

void LinkState::server_said(Instant time, double speed, Instant here) {
  // What its clock went on by while the word was on its way; one that is held: nothing.
  const std::chrono::duration<double, std::milli> on_the_way =
      round_trip.value_or(Milliseconds(0)) / 2.0 * speed;
  clock_speed = speed;
  clock_offset = time + std::chrono::round<Milliseconds>(on_the_way) - here;
  clock_taken = here;
}

/// All that the client's thread and its users share; the coroutines run on the one thread of `io_`.
class Client::Link {
 public:
  explicit Link(ClientOptions options)
      : options_(std::move(options)), signal_(io_), pause_(io_), room_(io_) {
    state_.last_seq = options_.after;
    state_.since = clock_now();
  }

  void start() {
    net::co_spawn(io_, follow(), [this](const std::exception_ptr& failed) { ended(failed); });
    thread_ = std::thread([this] { io_.run(); });
  }

  bool post(EventPtr event) {
    {
      const std::lock_guard lock(mutex_);
      if (closing_ || outbox_.size() >= options_.outbox_events) return false;
      outbox_.push_back({std::move(event), false});
      state_.waiting = outbox_.size();
    }
    net::post(io_, [this] { signal_.cancel(); });
    return true;
  }

  std::vector<EventPtr> unsent() const {
    const std::lock_guard lock(mutex_);
    std::vector<EventPtr> events;
    for (const Waiting& waiting : outbox_) events.push_back(waiting.event);
    return events;
  }

  Incoming take() {
    Incoming taken;
    bool had_paused = false;
    {
      const std::lock_guard lock(mutex_);
      taken = std::exchange(inbox_, {});
      had_paused = std::exchange(paused_, false);
    }
    if (had_paused) net::post(io_, [this] { room_.cancel(); });
    return taken;
  }

  LinkState state() const {
    const std::lock_guard lock(mutex_);
    return state_;
  }

  void close(Milliseconds patience) {
    if (!thread_.joinable()) return;
    {
      std::unique_lock lock(mutex_);
      closing_ = true;
      acknowledged_.wait_for(lock, patience, [&] { return outbox_.empty(); });
    }
    net::post(io_, [this] {
      stop_ = true;
      signal_.cancel();
      pause_.cancel();
      room_.cancel();
      resolver_.cancel();
      if (cut_) cut_();
    });
    thread_.join();
  }

 private:
  struct Waiting {
    EventPtr event;
    bool sent = false;  ///< over the present connection
  };

  net::awaitable<void> follow() {
    Milliseconds pause = options_.first_pause;
    while (!stop_) {
      set_phase(Phase::connecting, {});
      heard_ = false;
      const Outcome outcome = co_await one_link();
      cut_ = nullptr;
      if (stop_) break;
      // Only a server that spoke to us earns quick retries; one that accepts and drops us does not.
      if (heard_) pause = options_.first_pause;
      const Milliseconds wait = pause;
      pause = std::min(pause * 2, options_.longest_pause);
      {
        const std::lock_guard lock(mutex_);
        for (Waiting& waiting : outbox_) waiting.sent = false;
        state_.next_try = clock_now() + wait;
      }
      set_phase(outcome.refused ? Phase::refused : Phase::waiting, outcome.why);
      pause_.expires_after(wait);
      co_await pause_.async_wait(no_throw);
    }
  }

  struct Outcome {
    std::string why;
    bool refused = false;
  };

  net::awaitable<Outcome> one_link() {
    const auto [unknown, found] = co_await resolver_.async_resolve(
        options_.server.host, std::to_string(options_.server.port), no_throw);
    if (unknown)
      co_return Outcome{"cannot find " + options_.server.host + ": " + unknown.message()};
    if (stop_) co_return Outcome{};
    ssl::context trusted(ssl::context::tls_client);
    ByteStream stream{ByteStream::Tcp(io_)};
    if (options_.server.secure) {
      SSL_CTX_set_min_proto_version(trusted.native_handle(), TLS1_2_VERSION);
      beast::error_code ignored;
      trusted.set_default_verify_paths(ignored);
      stream = ByteStream(ByteStream::Tcp(io_), trusted);
      stream.expect_host(options_.server.host);
    }
    ByteStream::Tcp& tcp_stream = stream.tcp();
    cut_ = [&tcp_stream] { tcp_stream.close(); };
    tcp_stream.expires_after(connect_time);
    const auto [unreachable, endpoint] = co_await tcp_stream.async_connect(found, no_throw);
    if (unreachable) co_return Outcome{"cannot reach the server: " + unreachable.message()};
    if (const auto distrusted = co_await stream.handshake(beast::role_type::client))
      co_return Outcome{"no TLS with the server: " + distrusted.message()};
    beast::error_code ignored;
    tcp_stream.socket().set_option(tcp::no_delay(true), ignored);

    // The socket ends with this frame, and with it the timers that would hold up the end.
    WebSocket socket(std::move(stream),
                     {connect_time, silence, false, message_bytes, [this] { take_pong(); }});
    http::fields fields;
    fields.set(http::field::sec_websocket_protocol, "stonecall.v1");
    fields.set(http::field::user_agent, "stonecall");
    if (!options_.token.empty()) fields.set(http::field::authorization, "Bearer " + options_.token);
    const bool v6 = options_.server.host.find(':') != std::string::npos;
    const std::string host = (v6 ? "[" + options_.server.host + "]" : options_.server.host) + ":" +
                             std::to_string(options_.server.port);
    // After the event before our last: the first that comes shows whether this is the store that
    // ours came from. Another may stand at the same address, with as many events or more.
    proving_ = !options_.posts_only && last_id_.has_value();
    const std::string target =
        options_.posts_only ? "/live"
                            : "/live?after=" + std::to_string(last_seq() - (proving_ ? 1 : 0));
    WebSocket::Response response;
    const auto declined = co_await socket.open(host, target, fields, response);
    if (declined == websocket::error::upgrade_declined) co_return Outcome{refusal(response), true};
    if (declined)
      co_return Outcome{"the server does not answer as expected: " + declined.message()};

    {
      const std::lock_guard lock(mutex_);
      state_.connected_since = clock_now();
    }
    if (!proving_) set_phase(Phase::catching_up, {});
    why_ = "the link was lost";
    another_store_ = false;
    retry_at_.reset();
    linked_ = true;
    using net::experimental::awaitable_operators::operator&&;
    co_await (read(socket) && write(socket));
    {
      const std::lock_guard lock(mutex_);
      state_.connected_since.reset();
      state_.round_trip.reset();
    }
    co_return Outcome{why_, another_store_};
  }

  static std::string refusal(const WebSocket::Response& response) {
    std::string why = std::to_string(response.result_int()) + " " + std::string(response.reason());
    if (const auto detail = problem_detail(response.body(), message_bytes)) why += ": " + *detail;
    return why;
  }

  net::awaitable<void> read(WebSocket& socket) {
    WebSocket::Buffer buffer;
    while (linked_) {
      const auto error = co_await socket.read(buffer);
      if (error) {
        const std::string reason = socket.close_reason();
        if (error == websocket::error::closed && !reason.empty())
          why_ = reason;
        else if (error == beast::error::timeout)
          why_ = "the server said nothing for too long";
        else if (error != net::error::operation_aborted)
          why_ = "the link was lost: " + error.message();
        break;
      }
      take_message({static_cast<const char*>(buffer.cdata().data()), buffer.cdata().size()});
      buffer.consume(buffer.size());
      while (linked_ && !stop_ && inbox_full()) {
        room_.expires_at(Steady::time_point::max());
        co_await room_.async_wait(no_throw);
      }
    }
    linked_ = false;
    signal_.cancel();
  }

  net::awaitable<void> write(WebSocket& socket) {
    Steady::time_point ping_due = Steady::now();
    while (linked_ && !stop_) {
      const std::string posts = posts_to_send();
      if (!posts.empty()) {
        if (co_await socket.write(posts)) break;
        continue;
      }
      if (Steady::now() >= ping_due) {
        ping_sent_ = Steady::now();
        if (co_await socket.ping()) break;
        ping_due = Steady::now() + ping_each;
        continue;
      }
      signal_.expires_at(std::min(ping_due, retry_at_.value_or(ping_due)));
      co_await signal_.async_wait(no_throw);
      if (retry_at_ && Steady::now() >= *retry_at_) send_again();
    }
    linked_ = false;
    room_.cancel();
    socket.stream().tcp().close();
  }

  /// The oldest events not yet sent over this connection, as one message; empty if there are none,
  /// or while the server asked us to wait.
  std::string posts_to_send() {
    const std::lock_guard lock(mutex_);
    if (retry_at_ || proving_) return {};
    std::string text;
    std::size_t count = 0;
    for (Waiting& waiting : outbox_) {
      if (waiting.sent) continue;
      text += text.empty() ? "[" : ",";
      text += to_line(*waiting.event);
      waiting.sent = true;
      if (++count == post_events || text.size() >= post_bytes) break;
    }
    if (!text.empty()) text += "]";
    return text;
  }

  void send_again() {
    const std::lock_guard lock(mutex_);
    retry_at_.reset();
    for (Waiting& waiting : outbox_) waiting.sent = false;
  }

  void take_message(std::string_view text) {
    heard_ = true;
    {
      const std::lock_guard lock(mutex_);
      state_.last_word = clock_now();
    }
    auto message = message_.read(text, message_bytes, levels_around_event);
    if (!message) return note_fault(std::move(message.error()));
    std::string_view type;
    if (message->at_key("type").get(type)) return note_unexpected();
    try {
      if (type == "event")
        take_events(*message);
      else if (proving_ && type == "caught_up")
        leave_other_store();
      else if (type == "heartbeat" && !proving_)
        take_heartbeat(json_of(*message));
      else if (type == "results")
        take_results(json_of(*message));
      else if (type == "caught_up" && linked_)
        set_phase(Phase::live, {});
      // Other types are of a newer server and may be passed over.
    } catch (const Json::exception&) {
      note_unexpected();
    }
  }

  void take_events(Value message) {
    simdjson::dom::array events;
    if (message.at_key("events").get(events)) return note_unexpected();
    Incoming read;
    std::uint64_t last = last_seq();
    for (const Value each : events) {
      auto [event, wrong_id, wrong_seq] = read_event(each);
      const std::uint64_t seq = event ? event->seq.value_or(0) : wrong_seq.value_or(0);
      const std::optional<Uuid> id = event ? event->id : wrong_id;
      if (proving_ && !prove(seq, id)) return;
      if (seq > 0 && seq <= last) continue;
      last = std::max(last, seq);
      last_id_ = id;
      if (event)
        read.events.push_back(std::make_shared<const Event>(std::move(*event)));
      else
        read.faults.push_back(event.error());
    }
    {
      const std::lock_guard lock(mutex_);
      state_.last_seq = last;
      state_.newest_seq = std::max(state_.newest_seq, last);
      std::move(read.events.begin(), read.events.end(), std::back_inserter(inbox_.events));
      std::move(read.faults.begin(), read.faults.end(), std::back_inserter(inbox_.faults));
    }
    wake();
  }

  /// Whether the first event of a link regained is the last one that we had.
  bool prove(std::uint64_t seq, const std::optional<Uuid>& id) {
    if (seq != last_seq() || (id && id != last_id_)) {
      leave_other_store();
      return false;
    }
    proving_ = false;
    set_phase(Phase::catching_up, {});
    signal_.cancel();  // what waits may go out
    return true;
  }

  void leave_other_store() {
    why_ =
        "its store is not the one of before: the last event that came from that is not in it. If "
        "it is the right one, start anew";
    another_store_ = true;
    heard_ = false;  // not to be asked again and again
    linked_ = false;
  }

  void take_heartbeat(const Json& heartbeat) {
    const auto time = parse_timestamp(heartbeat.value("time", ""));
    {
      const std::lock_guard lock(mutex_);
      state_.newest_seq = heartbeat.value("newest", std::uint64_t{0});
      const double speed = heartbeat.value("speed", 1.0);
      if (time)
        state_.server_said(time->instant, speed, clock_now());
      else
        state_.clock_speed = speed;
    }
    wake();
  }

  void take_results(const Json& message) {
    if (message.contains("problem")) {
      // The store could not take it (disk full, busy): nothing is lost, ask again later.
      retry_at_ = Steady::now() + retry_pause;
      {
        const std::lock_guard lock(mutex_);
        state_.posts_wait = message.at("problem").value("detail", "the server does not take them");
      }
      signal_.cancel();
      return wake();
    }
    {
      const std::lock_guard lock(mutex_);
      state_.posts_wait.clear();
      for (const Json& result : message.at("results")) {
        const auto id = result.contains("id") && result["id"].is_string()
                            ? parse_uuid(result["id"].get<std::string>())
                            : tl::unexpected(Fault{});
        if (!id) continue;
        const auto found =
            std::find_if(outbox_.begin(), outbox_.end(),
                         [&](const Waiting& waiting) { return waiting.event->id == *id; });
        if (found == outbox_.end()) continue;
        outbox_.erase(found);
        inbox_.results.push_back(
            {*id, result.value("seq", std::uint64_t{0}), result.value("refused", "")});
      }
      state_.waiting = outbox_.size();
      if (outbox_.empty()) acknowledged_.notify_all();
    }
    wake();
  }

  void take_pong() {
    const std::lock_guard lock(mutex_);
    state_.round_trip = std::chrono::ceil<Milliseconds>(Steady::now() - ping_sent_);
  }

  bool inbox_full() {
    const std::lock_guard lock(mutex_);
    paused_ = inbox_.events.size() + inbox_.faults.size() >= options_.inbox_events;
    return paused_;
  }

  std::uint64_t last_seq() const {
    const std::lock_guard lock(mutex_);
    return state_.last_seq;
  }

  void note_unexpected() {
    note_fault({"", "the server sent a message of an unexpected form", {}});
  }

  void note_fault(Fault fault) {
    {
      const std::lock_guard lock(mutex_);
      inbox_.faults.push_back(std::move(fault));
    }
    wake();
  }

  void set_phase(Phase phase, std::string why) {
    {
      const std::lock_guard lock(mutex_);
      state_.phase = phase;
      state_.why = std::move(why);
      state_.since = clock_now();
      if (phase != Phase::waiting && phase != Phase::refused) state_.next_try.reset();
    }
    wake();
  }

  void wake() {
    if (options_.wake) options_.wake();
  }

  /// The coroutine came to its end: closed, or a mistake of ours, which is then seen in the link's
  /// state.
  void ended(const std::exception_ptr& failed) {
    std::string why;
    try {
      if (failed) std::rethrow_exception(failed);
    } catch (const std::exception& exception) {
      why = exception.what();
    }
    set_phase(Phase::closed, std::move(why));
  }

  const ClientOptions options_;
  net::io_context io_{1};
  tcp::resolver resolver_{io_};
  std::function<void()> cut_;  ///< closes the present connection
  net::steady_timer signal_;   ///< something to post
  net::steady_timer pause_;    ///< between two tries
  net::steady_timer room_;     ///< the inbox was taken
  bool stop_ = false;
  bool linked_ = false;
  bool heard_ = false;
  std::optional<Uuid> last_id_;  ///< of the last event received, where it could be read
  bool proving_ = false;         ///< that the link regained is to the store of before
  bool another_store_ = false;   ///< it is not
  std::string why_;
  Steady::time_point ping_sent_;
  std::optional<Steady::time_point> retry_at_;
  JsonText message_;
  std::thread thread_;

  mutable std::mutex mutex_;
  std::condition_variable acknowledged_;
  bool closing_ = false;
  bool paused_ = false;
  LinkState state_;
  std::deque<Waiting> outbox_;
  Incoming inbox_;
};

Client::Client(ClientOptions options) : link_(std::make_unique<Link>(std::move(options))) {
  link_->start();
}
Client::~Client() {
  close();
}
bool Client::post(EventPtr event) {
  return link_->post(std::move(event));
}
std::vector<EventPtr> Client::unsent() const {
  return link_->unsent();
}
Incoming Client::take() {
  return link_->take();
}
LinkState Client::link() const {
  return link_->state();
}
void Client::close(std::chrono::milliseconds patience) {
  link_->close(patience);
}

std::string_view to_string(LinkState::Phase phase) {
  switch (phase) {
    case Phase::connecting:
      return "connecting";
    case Phase::catching_up:
      return "catching up";
    case Phase::live:
      return "live";
    case Phase::waiting:
      return "waiting";
    case Phase::refused:
      return "refused";
    case Phase::closed:
      return "closed";
  }
  return "closed";
}

}  // namespace stonecall::protocol
