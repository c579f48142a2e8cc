#include "server/live_session.hpp"

#include <algorithm>
#include <map>
#include <utility>

#include <boost/asio/experimental/awaitable_operators.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/websocket/error.hpp>
#include <boost/beast/websocket/rfc6455.hpp>
#include <spdlog/spdlog.h>

#include "protocol/web_socket.hpp"
#include "server/await.hpp"
#include "server/intake.hpp"
#include "server/signal.hpp"

namespace stonecall::server {
namespace {

namespace net = boost::asio;
namespace http = boost::beast::http;
namespace websocket = boost::beast::websocket;
using protocol::Json;
using Steady = std::chrono::steady_clock;

constexpr std::size_t page_bytes = 128 * 1024;
constexpr std::size_t posts_in_flight = 64;

std::string results_message(const std::string& results, const std::string& more = {}) {
  return R"({"type":"results","results":)" + results + more + "}";
}

/// A post that could not be stored or read: no results, and the problem.
std::string problem_message(const Problem& problem) {
  return results_message(
      "[]",
      R"(,"problem":)" + problem.to_json().dump(-1, ' ', false, Json::error_handler_t::replace));
}

std::string answer_message(const std::vector<Intake::Item>& items, const PostOutcome& outcome) {
  if (!outcome) return problem_message(problem_of(outcome.error()));
  return results_message(results_text(items, *outcome));
}

/// One live connection: coroutines that read posts, write, and time the heartbeats, on one strand.
class LiveSession : public std::enable_shared_from_this<LiveSession> {
 public:
  LiveSession(Context& context, protocol::ByteStream stream, std::shared_ptr<Connection> connection,
              Role role, std::optional<Sequence> after)
      : context_(context),
        connection_(std::move(connection)),
        socket_(std::move(stream),
                {context.timing.header, context.timing.silence, true, PostLimits::bytes}),
        role_(role),
        follows_(after.has_value()),
        next_(after.value_or(0) + 1),
        signal_(connection_->strand),
        beats_(connection_->strand),
        room_(connection_->strand) {}

  net::awaitable<void> run(const protocol::WebSocket::Request& upgrade) {
    http::fields fields;
    fields.set(http::field::server, "stonecall");
    if (upgrade.count(http::field::sec_websocket_protocol) > 0)
      fields.set(http::field::sec_websocket_protocol, live_subprotocol);
    const auto error = co_await socket_.accept(upgrade, fields);
    if (error) {
      spdlog::info("live: handshake failed: {}", error.message());
      co_return;
    }
    console_ = std::make_shared<Console>([weak = weak_from_this()](Console::Wake how) {
      auto self = weak.lock();
      if (!self) return;
      const auto strand = self->connection_->strand;
      auto go_on = [self = std::move(self)] { self->signal_.tell_now(); };
      if (how == Console::Wake::take)
        net::dispatch(strand, std::move(go_on));
      else
        net::post(strand, std::move(go_on));
    });
    connection_->cut = [this] { socket_.stream().tcp().close(); };
    connection_->on_stop = [this] { signal_.tell(); };
    context_.hub.join(console_);
    if (follows_ && context_.player) context_.player->begin();
    using net::experimental::awaitable_operators::operator&&;
    co_await (read_posts() && write() && beat());
    connection_->on_stop = nullptr;
    connection_->cut = nullptr;
    context_.hub.leave(console_);
  }

 private:
  net::awaitable<void> read_posts() {
    protocol::WebSocket::Buffer buffer;
    // Beast's closing reads by itself, and waits for ever if it has to share.
    while (!closing_) {
      const auto error = co_await socket_.read(buffer);
      if (error) {
        if (error != websocket::error::closed)
          spdlog::debug("live: reading ended: {}", error.message());
        break;
      }
      if (!connection_->stopping)
        take_post({static_cast<const char*>(buffer.cdata().data()), buffer.cdata().size()});
      buffer.consume(buffer.size());
      // A post that is not read yet waits in the sender's outbox; none has to be refused.
      for (auto wait = context_.rate.take(connection_->peer); wait > wait.zero() && !ended_;
           wait = context_.rate.take(connection_->peer)) {
        room_.expires_after(wait);
        co_await room_.async_wait(no_throw);
      }
      wants_room_ = true;
      while (in_flight_ >= posts_in_flight && !ended_) {
        room_.expires_at(Steady::time_point::max());
        co_await room_.async_wait(no_throw);
      }
      wants_room_ = false;
    }
    reading_ = false;
    signal_.tell();
  }

  void take_post(std::string_view text) {
    ++in_flight_;
    const std::uint64_t number = posts_++;
    context_.live_posts.fetch_add(1, std::memory_order_relaxed);
    auto intake = socket_.got_text() ? read_post(text, PostForm::json, role_)
                                     : tl::expected<Intake, Problem>(
                                           tl::unexpect, Problem{400, "expected a text message"});
    if (!intake) {
      answers_.emplace(number, message(problem_message(intake.error())));
    } else if (intake->drafts.empty()) {
      answers_.emplace(number, message(answer_message(intake->items, {})));
    } else {
      context_.store.post(std::move(intake->drafts),
                          [&hub = context_.hub, console = console_, number,
                           items = std::move(intake->items)](const PostOutcome& outcome) {
                            hub.answer(*console, number, message(answer_message(items, outcome)));
                          });
      return;
    }
    signal_.tell();
  }

  net::awaitable<void> write() {
    while (reading_) {
      Hub::Taken taken = context_.hub.take(*console_);
      bool sent = false;
      for (auto& [number, answer] : taken.answers) answers_.emplace(number, std::move(answer));
      while (!answers_.empty() && answers_.begin()->first == answered_) {
        const auto answer = answers_.extract(answers_.begin());
        if (!co_await send(*answer.mapped())) co_return;
        ++answered_;
        --in_flight_;
        sent = true;
      }
      if (sent && wants_room_) room_.cancel();
      for (const EventsMessage& events : taken.events) {
        if (!co_await send(*events.text)) co_return;
        next_ = events.last + 1;
        sent = true;
      }
      if (connection_->stopping && in_flight_ == 0) {
        co_await close(websocket::close_code::going_away, "the server is stopping");
        co_return;
      }
      if (std::exchange(beat_due_, false)) {
        const std::string text = heartbeat();
        if (!co_await send(text)) co_return;
      }
      if (follows_ && !taken.live && !connection_->stopping) {
        if (!co_await catch_up()) co_return;
      } else if (!sent) {
        co_await signal_.wait();
      }
    }
    end();
  }

  net::awaitable<void> beat() {
    while (!ended_) {
      beats_.expires_after(context_.timing.heartbeat);
      co_await beats_.async_wait(no_throw);
      beat_due_ = true;
      signal_.tell();
    }
  }

  /// One step from the store; or the change to live once nothing is left there.
  net::awaitable<bool> catch_up() {
    if (context_.hub.go_live(*console_, next_)) {
      const std::string text = R"({"type":"caught_up","seq":)" + std::to_string(next_ - 1) + "}";
      co_return co_await send(text);
    }
    using Read = tl::expected<Page, StoreFault>;
    const std::function<Read()> read = [&store = context_.store, after = next_ - 1,
                                        through = context_.hub.newest()] {
      return store.read(after, through, page_bytes, ',');
    };
    const Read page = co_await on_pool<Read>(context_.readers, read);
    if (!page || page->count == 0) {
      std::string why = "events are missing from the store";
      if (!page) why = page.error().what;
      spdlog::error("live: cannot read after {}: {}", next_ - 1, why);
      co_await close(websocket::close_code::internal_error, why);
      co_return false;
    }
    const EventsMessage message = events_message(*page);
    if (!co_await send(*message.text)) co_return false;
    next_ = page->last + 1;
    co_return true;
  }

  std::string heartbeat() const {
    Json json;
    json["type"] = "heartbeat";
    json["time"] = to_string(context_.clock.now());
    json["newest"] = context_.hub.newest();
    if (const double speed = context_.clock.speed(); speed != 1) json["speed"] = speed;
    return json.dump();
  }

  net::awaitable<bool> send(const std::string& text) {
    const auto error = co_await socket_.write(text);
    if (error) {
      spdlog::debug("live: writing ended: {}", error.message());
      end();
    }
    co_return !error;
  }

  net::awaitable<void> close(websocket::close_code code, std::string_view why) {
    closing_ = true;
    const auto error = co_await socket_.close(code, why);
    if (error) spdlog::debug("live: closing: {}", error.message());
    end();
  }

  /// The reader waits for the peer or for room, the heart for its time; all end here.
  void end() {
    ended_ = true;
    socket_.stream().tcp().close();
    room_.cancel();
    beats_.cancel();
  }

  static Message message(std::string text) {
    return std::make_shared<const std::string>(std::move(text));
  }

  Context& context_;
  std::shared_ptr<Connection> connection_;
  protocol::WebSocket socket_;
  Role role_;
  bool follows_;
  Sequence next_;
  Signal signal_;            ///< something to send, or the end
  net::steady_timer beats_;  ///< the next heartbeat
  bool beat_due_ = false;
  net::steady_timer room_;  ///< posts were answered
  std::shared_ptr<Console> console_;
  std::size_t in_flight_ = 0;  ///< posts taken and not yet answered
  std::uint64_t posts_ = 0;
  std::uint64_t answered_ = 0;
  std::map<std::uint64_t, Message> answers_;  ///< by number of the post; sent in that order
  bool wants_room_ = false;
  bool reading_ = true;
  bool closing_ = false;
  bool ended_ = false;
};

}  // namespace

net::awaitable<void> serve_live(Context& context, protocol::ByteStream stream,
                                std::shared_ptr<Connection> connection, LiveRequest request) {
  const auto session = std::make_shared<LiveSession>(
      context, std::move(stream), std::move(connection), request.role, request.after);
  co_await session->run(request.upgrade);
}

}  // namespace stonecall::server
