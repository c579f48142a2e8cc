#include "server/http_session.hpp"

#include <algorithm>
#include <string>
#include <string_view>

#include <boost/beast/core/buffers_to_string.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/read_size.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/websocket/rfc6455.hpp>
#include <spdlog/spdlog.h>

#include "server/await.hpp"
#include "server/deadline.hpp"
#include "server/field_page.hpp"
#include "server/http_answer.hpp"
#include "server/http_request.hpp"
#include "server/intake.hpp"
#include "server/live_session.hpp"
#include "server/metrics.hpp"
#include "server/play_request.hpp"

namespace stonecall::server {
namespace {

namespace net = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;

using Request = http::request<http::string_body>;

constexpr std::size_t read_bytes = 64 * 1024;
constexpr std::size_t answer_part_bytes = 256 * 1024;
constexpr auto linger_time = std::chrono::seconds(2);
constexpr std::size_t linger_bytes = 16 * 1024 * 1024;
constexpr std::size_t search_results = 1'000;
constexpr std::string_view page_path = "/field";
constexpr std::string_view play_path = "/play";
constexpr std::string_view worker_path = "/field-worker.js";

class HttpSession {
 public:
  HttpSession(Context& context, protocol::ByteStream stream, std::shared_ptr<Connection> connection)
      : context_(context),
        stream_(std::move(stream)),
        connection_(std::move(connection)),
        deadline_(connection_->strand, [this] { tcp().close(); }) {
    tcp().expires_never();
  }

  net::awaitable<void> run() {
    connection_->cut = [this] { tcp().close(); };
    connection_->on_stop = [this] {
      if (idle_) tcp().cancel();
    };
    bool go_on = true;
    while (go_on && !connection_->stopping) go_on = co_await one_request();
    connection_->on_stop = nullptr;
    connection_->cut = nullptr;
    deadline_.never();
    if (upgrade_) {
      co_await serve_live(context_, std::move(stream_), connection_, std::move(*upgrade_));
    } else {
      tcp().expires_after(linger_time);
      co_await stream_.farewell();
      beast::error_code ignored;
      tcp().socket().shutdown(net::ip::tcp::socket::shutdown_send, ignored);
      if (unread_) co_await linger();
    }
  }

 private:
  using Parser = http::request_parser<http::string_body>;

  protocol::ByteStream::Tcp& tcp() { return stream_.tcp(); }

  /// Reads until the parser is as far as `enough` says.
  net::awaitable<beast::error_code> read(Parser& parser, bool (Parser::*enough)() const) {
    while (!(parser.*enough)()) {
      beast::error_code error;
      if (!parser.got_some()) skip_empty_lines();
      if (buffer_.size() > 0) {
        buffer_.consume(parser.put(buffer_.cdata(), error));
        if (!error) continue;
        if (error != http::error::need_more) co_return error;
      }
      const auto [ended, bytes] =
          co_await stream_.read_some(buffer_.prepare(beast::read_size(buffer_, read_bytes)));
      buffer_.commit(bytes);
      if (ended == net::error::eof) {
        if (!parser.got_some()) co_return http::error::end_of_stream;
        parser.put_eof(error);
        co_return error;
      }
      if (ended) co_return ended;
    }
    co_return beast::error_code{};
  }

  /// RFC 9112, 2.2: such as some clients send behind a body.
  void skip_empty_lines() {
    const std::string_view text(static_cast<const char*>(buffer_.cdata().data()), buffer_.size());
    std::size_t empty = 0;
    while (text.substr(empty).starts_with("\r\n")) empty += 2;
    buffer_.consume(empty);
  }

  net::awaitable<bool> send(std::string_view text) {
    const auto error = co_await stream_.write({text.data(), text.size()});
    co_return !error;
  }

  net::awaitable<bool> one_request() {
    Parser parser;
    head_ = false;
    version_ = 11;
    parser.header_limit(header_bytes);
    parser.body_limit(PostLimits::bytes);
    deadline_.in(context_.timing.header);
    idle_ = true;
    const auto header_error = co_await read(parser, &Parser::is_header_done);
    idle_ = false;
    if (header_error) {
      // A stream that ran out of time is closed already.
      const bool left = header_error == http::error::end_of_stream ||
                        header_error == net::error::operation_aborted ||
                        header_error == net::error::connection_reset ||
                        header_error == beast::error::timeout;
      if (left) co_return false;
      unread_ = true;
      Answer answer = answer_of(problem_of_reading(header_error));
      co_return co_await write(std::move(answer), false);
    }

    keep_alive_ = parser.get().keep_alive();
    head_ = parser.get().method() == http::verb::head;
    version_ = parser.get().version();
    if (const auto wait = context_.rate.take(connection_->peer); wait > wait.zero()) {
      unread_ = !parser.is_done();
      Answer answer = answer_of(Problem{429, "too many requests from this address"});
      add_field(answer.fields, "Retry-After",
                std::to_string(std::chrono::ceil<std::chrono::seconds>(wait).count()));
      co_return co_await write(std::move(answer), !unread_);
    }
    if (auto problem = wrong_form(parser.get())) {
      unread_ = true;
      Answer answer = answer_of(*problem);
      co_return co_await write(std::move(answer), false);
    }
    if (auto problem = check(parser.get())) {
      unread_ = !parser.is_done();
      Answer answer = answer_of(problem->problem);
      if (!problem->allow.empty()) add_field(answer.fields, "Allow", problem->allow);
      co_return co_await write(std::move(answer), !unread_);
    }
    if (beast::iequals(parser.get()[http::field::expect], "100-continue")) {
      if (!co_await send("HTTP/1.1 100 Continue\r\n\r\n")) co_return false;
    }
    if (!std::exchange(settled_, true)) context_.connections.settle(connection_);
    deadline_.in(context_.timing.body);
    const auto body_error = co_await read(parser, &Parser::is_done);
    if (body_error) {
      unread_ = true;
      Answer answer = answer_of(problem_of_reading(body_error));
      co_return co_await write(std::move(answer), false);
    }
    deadline_.in(context_.timing.body);
    co_return co_await dispatch(parser.release());
  }

  /// Reads what the client still sends for a while: a socket that is closed before would reset the
  /// connection, and the client might never see the answer (RFC 9112, 9.6).
  net::awaitable<void> linger() {
    tcp().expires_after(linger_time);
    for (std::size_t read = 0; read < linger_bytes;) {
      buffer_.clear();
      const auto [error, bytes] =
          co_await tcp().async_read_some(buffer_.prepare(64 * 1024), no_throw);
      if (error) break;
      read += bytes;
    }
  }

  struct Refusal {
    Problem problem;
    std::string allow;  ///< the methods that are allowed here, with 405
  };

  /// What can be said before the body is read.
  std::optional<Refusal> check(const http::request_header<>& header) {
    auto target = parse_target({header.target().data(), header.target().size()});
    if (!target) return Refusal{{400, "the target is not a path"}, {}};
    target_ = std::move(*target);
    const bool events = target_.path == "/events";
    const bool page = target_.path == page_path || target_.path == worker_path;
    const bool play = target_.path == play_path;
    if (!events && !page && !play && target_.path != "/live" && target_.path != "/health" &&
        target_.path != "/metrics") {
      return Refusal{{404,
                      "nothing is served at this path; there are /events, /live, /field, /play, "
                      "/health and /metrics"},
                     {}};
    }
    const http::verb method = header.method();
    const bool reads = method == http::verb::get || method == http::verb::head;
    const bool takes = events || play;
    if (!reads && !(takes && method == http::verb::post)) {
      return Refusal{{405, "this method is not served at " + target_.path},
                     takes ? "GET, HEAD, POST" : "GET, HEAD"};
    }
    const auto host = header[http::field::host];
    if (context_.access.open() &&
        !names_this_machine(target_.host.empty() ? std::string_view(host.data(), host.size())
                                                 : std::string_view(target_.host)))
      return Refusal{{403, "without tokens the server is asked as localhost or 127.0.0.1"}, {}};
    if (target_.path == "/health" || page)
      return std::nullopt;  // these say nothing of the exercise but how far it is
    const auto authorization = header[http::field::authorization];
    const auto role = context_.access.role_of({authorization.data(), authorization.size()});
    if (!role) return Refusal{{401, "a bearer token of this server is wanted"}, {}};
    role_ = *role;
    if (from_elsewhere(header)) return Refusal{{403, "a page of another site may not do this"}, {}};
    if (method == http::verb::post) {
      if (role_ == Role::observer) return Refusal{{403, "an observer may not post"}, {}};
      if (play && role_ == Role::field)
        return Refusal{{403, "only an adviser may say how the log is played"}, {}};
      const std::string type = media_type(header);
      if (type != json_type && type != lines_type && !type.empty()) {
        return Refusal{{415, fmt::format("expected {} or {}, not {}", json_type, lines_type, type)},
                       {}};
      }
      form_ = type == lines_type ? PostForm::lines : PostForm::json;
    }
    return std::nullopt;
  }

  // Answers are made in statements of their own: GCC 12 destroys some temporaries twice when they
  // stand in one expression with co_await.
  net::awaitable<bool> dispatch(Request request) {
    Answer answer;
    if (target_.path == "/health") {
      answer = {context_.store.write_fault() ? 503u : 200u, json_type, health(context_).dump(), {}};
    } else if (target_.path == "/metrics") {
      answer = {200, metrics_type, metrics_text(context_), {}};
    } else if (target_.path == page_path) {
      answer = {
          200, "text/html; charset=utf-8", std::string(field_page()), {}, field_page_policy()};
    } else if (target_.path == worker_path) {
      // A worker is held to the policy its own script came with, and this one fetches the page.
      answer = {200,
                "text/javascript; charset=utf-8",
                std::string(field_worker()),
                {},
                "default-src 'none'; connect-src 'self'; frame-ancestors 'none'"};
    } else if (target_.path == "/live") {
      auto declined = begin_live(std::move(request));
      if (!declined) co_return false;
      co_return co_await write(std::move(*declined), false);
    } else if (target_.path == play_path) {
      answer = play(request);
    } else if (request.method() == http::verb::post) {
      answer = co_await post(request.body());
    } else if (target_.said) {
      answer = co_await search();
    } else {
      co_return co_await events();
    }
    co_return co_await write(std::move(answer), true);
  }

  net::awaitable<Answer> post(const std::string& body) {
    auto intake = read_post(body, form_, role_);
    if (!intake) co_return answer_of(intake.error());
    PostOutcome outcome = std::vector<Placed>{};
    if (!intake->drafts.empty()) {
      outcome = co_await stored(context_.store, std::move(intake->drafts));
    }
    if (!outcome) co_return answer_of(problem_of(outcome.error()));
    PostAnswer results = answer_to(intake->items, *outcome);
    const auto type = results.status == 400 ? problem_type : json_type;
    co_return Answer{results.status, type, std::move(results.body), {}};
  }

  /// How the log is played; changed first, where that is asked for.
  Answer play(const Request& request) {
    if (!context_.player) return answer_of(Problem{404, "no log is played here"});
    if (request.method() == http::verb::post) {
      const auto change = read_play_change(request.body());
      if (!change) return answer_of(change.error());
      if (const auto changed = context_.player->change(*change); !changed)
        return answer_of(Problem{409, changed.error()});
    }
    return {200, json_type, to_json(context_.player->state()).dump(), {}};
  }

  using Read = tl::expected<Page, StoreFault>;

  net::awaitable<Answer> search() {
    const std::function<Read()> read = [this] {
      return context_.store.search(*target_.said, search_results, '\n');
    };
    const Read page = co_await on_pool<Read>(context_.readers, read);
    if (!page) co_return answer_of(problem_of(page.error()));
    co_return Answer{200, lines_type, page->count > 0 ? page->text + '\n' : std::string(), {}};
  }

  /// The events as JSON Lines, a page at a time, up to the newest when the request came.
  net::awaitable<bool> events() {
    auto after = parse_after(target_.after.value_or("0"));
    if (!after) {
      Answer answer = answer_of(after.error());
      co_return co_await write(std::move(answer), true);
    }
    const Sequence through = context_.hub.newest();
    const bool chunked = version_ >= 11;
    const bool goes_on = chunked && keep_alive();
    Answer all{200, lines_type, {}, {}};
    add_field(all.fields, "Stonecall-Newest", std::to_string(through));
    if (chunked) add_field(all.fields, "Transfer-Encoding", "chunked");

    Read page;
    bool begun = false;
    do {
      const std::function<Read()> read = [&store = context_.store, from = *after, through] {
        return store.read(from, through, answer_part_bytes, '\n');
      };
      page = co_await on_pool<Read>(context_.readers, read);
      if (!page) {
        spdlog::error("http: cannot read events after {}: {}", *after, page.error().what);
        // Once it has begun, an answer can only be broken off; without its last chunk it is seen to
        // be incomplete.
        if (begun) co_return false;
        Answer answer = answer_of(problem_of(page.error()));
        co_return co_await write(std::move(answer), true);
      }
      if (!begun) {
        begun = true;
        count(200);
        const std::string header = head_of(all, version_, goes_on) + "\r\n";
        if (!co_await send(header)) co_return false;
        if (head_) co_return goes_on;
      }
      if (page->count == 0) break;
      page->text += '\n';
      deadline_.in(context_.timing.body);
      const std::string part =
          chunked ? beast::buffers_to_string(http::make_chunk(net::buffer(page->text)))
                  : std::move(page->text);
      if (!co_await send(part)) co_return false;
      after = page->last;
    } while (*after < through);
    if (chunked) {
      if (!co_await send("0\r\n\r\n")) co_return false;
    }
    co_return goes_on;
  }

  /// Checks what asks for the live stream; the answer if it is declined.
  std::optional<Answer> begin_live(Request request) {
    if (!beast::websocket::is_upgrade(request)) {
      Answer answer = answer_of(Problem{426, "/live is a WebSocket (RFC 6455)"});
      add_field(answer.fields, "Upgrade", "websocket");
      return answer;
    }
    if (request[http::field::sec_websocket_version] != "13") {
      Answer answer = answer_of(Problem{426, "the version of WebSocket is 13 (RFC 6455)"});
      add_field(answer.fields, "Upgrade", "websocket");
      add_field(answer.fields, "Sec-WebSocket-Version", "13");
      return answer;
    }
    const auto key = request[http::field::sec_websocket_key];
    if (!is_websocket_key({key.data(), key.size()}))
      return answer_of(Problem{400, "Sec-WebSocket-Key is to be 16 bytes in Base64"});
    const auto offered = request[http::field::sec_websocket_protocol];
    if (!offered.empty() &&
        !http::token_list{offered}.exists({live_subprotocol.data(), live_subprotocol.size()})) {
      return answer_of(Problem{400, "the subprotocol is " + std::string(live_subprotocol)});
    }
    std::optional<Sequence> from;
    if (target_.after) {
      const auto after = parse_after(*target_.after);
      if (!after) return answer_of(after.error());
      if (const Sequence newest = context_.hub.newest(); *after > newest) {
        return answer_of(Problem{409, "\"after\": " + std::to_string(*after) +
                                          " is past the newest event, " + std::to_string(newest) +
                                          "; is this another exercise's store?"});
      }
      from = *after;
    }
    count(101);
    upgrade_ = LiveRequest{std::move(request), from, role_};
    return std::nullopt;
  }

  bool keep_alive() const { return keep_alive_ && !connection_->stopping; }

  void count(unsigned status) {
    context_.answers.at(std::min<std::size_t>(status / 100, context_.answers.size() - 1))
        .fetch_add(1);
  }

  net::awaitable<bool> write(Answer answer, bool may_go_on) {
    const bool goes_on = may_go_on && keep_alive();
    count(answer.status);
    add_field(answer.fields, "Content-Length", std::to_string(answer.body.size()));
    std::string text = head_of(answer, version_, goes_on).append("\r\n");
    if (!head_) text.append(answer.body);
    co_return co_await send(text) && goes_on;
  }

  Context& context_;
  protocol::ByteStream stream_;
  std::shared_ptr<Connection> connection_;
  Deadline deadline_;  ///< of what the client has to do next
  beast::flat_buffer buffer_;
  Target target_;
  Role role_ = Role::observer;
  PostForm form_ = PostForm::json;
  bool idle_ = false;  ///< between requests
  bool keep_alive_ = false;
  bool settled_ = false;
  bool unread_ = false;  ///< part of the request was not read, so nothing after it can be
  bool head_ = false;
  unsigned version_ = 11;
  std::optional<LiveRequest> upgrade_;
};

}  // namespace

net::awaitable<void> serve(Context& context, protocol::ByteStream stream,
                           std::shared_ptr<Connection> connection) {
  HttpSession session(context, std::move(stream), std::move(connection));
  co_await session.run();
}

}  // namespace stonecall::server
