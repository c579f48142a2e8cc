#include <string>
#include <utility>

#include <boost/beast/websocket/rfc6455.hpp>
#include <catch2/catch.hpp>

#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

// RFC 6455 frame by frame, as no well-behaved client sends them.
namespace stonecall::server {
namespace {

using namespace tests;
using protocol::to_line;

constexpr int fin = 0x80;
constexpr int continuation = 0, text = 1, close = 8, ping = 9, pong = 10;

/// One frame as 5.2 draws it, masked with zeros unless told otherwise. `length_form` is how its
/// length is written: 0 the shortest way, else in so many bytes.
std::string frame(int first_byte, const std::string& payload, int length_form = 0,
                  bool masked = true) {
  std::string bytes{static_cast<char>(first_byte)};
  const int mask = masked ? 0x80 : 0;
  if (length_form == 0) length_form = payload.size() < 126 ? 1 : payload.size() < 65'536 ? 2 : 8;
  if (length_form == 1) {
    bytes += static_cast<char>(mask | static_cast<int>(payload.size()));
  } else {
    bytes += static_cast<char>(mask | (length_form == 2 ? 126 : 127));
    for (int i = length_form - 1; i >= 0; --i)
      bytes += static_cast<char>(payload.size() >> (8 * i));
  }
  if (masked) bytes += std::string(4, '\0');
  return bytes + payload;
}

std::string close_frame(int code, const std::string& why = {}) {
  return frame(fin | close,
               std::string{static_cast<char>(code >> 8), static_cast<char>(code)} + why);
}

/// A live connection of which each byte is ours.
class Wire {
 public:
  explicit Wire(std::uint16_t port) : http_(port) {
    http::request<http::empty_body> request{http::verb::get, "/live", 11};
    request.set(http::field::host, "127.0.0.1");
    request.set(http::field::connection, "Upgrade");
    request.set(http::field::upgrade, "websocket");
    request.set(http::field::sec_websocket_version, "13");
    request.set(http::field::sec_websocket_key, "dGhlIHNhbXBsZSBub25jZQ==");  // RFC 6455, 1.3
    http::write(http_.socket(), request);
    std::string head;
    while (!head.ends_with("\r\n\r\n")) head += bytes(1);
    REQUIRE(head.starts_with("HTTP/1.1 101 "));
    REQUIRE(head.find("s3pPLMBiTxaQ9kYGzzhZRbK+xOo=") != std::string::npos);  // also from there
  }

  void send(const std::string& frames) {
    boost::asio::write(http_.socket(), boost::asio::buffer(frames));
  }

  /// The next frame that is no heartbeat: its first byte and its payload.
  std::pair<int, std::string> next() {
    for (;;) {
      const int first = number(1);
      int length = number(1);
      REQUIRE((length & 0x80) == 0);  // 5.1: a server masks nothing
      if (length == 126) length = number(2);
      REQUIRE(length != 127);
      std::string payload = bytes(static_cast<std::size_t>(length));
      if (payload.find(R"("type":"heartbeat")") == std::string::npos)
        return {first, std::move(payload)};
    }
  }

  /// The code of the close frame that has to come next, and then the end.
  int closed() {
    const auto [first, payload] = next();
    REQUIRE(first == (fin | close));
    REQUIRE(payload.size() >= 2);
    char byte = 0;
    boost::system::error_code error;
    http_.socket().read_some(boost::asio::buffer(&byte, 1), error);
    CHECK(error == boost::asio::error::eof);
    return static_cast<unsigned char>(payload[0]) << 8 | static_cast<unsigned char>(payload[1]);
  }

 private:
  std::string bytes(std::size_t count) {
    std::string bytes(count, '\0');
    boost::asio::read(http_.socket(), boost::asio::buffer(bytes));
    return bytes;
  }
  int number(std::size_t count) {
    int value = 0;
    for (const char byte : bytes(count)) value = value << 8 | static_cast<unsigned char>(byte);
    return value;
  }

  Http http_;
};

TEST_CASE("a frame that may not be sent closes its connection with the code of RFC 6455") {
  const Running running;
  const std::string post = to_line(note("Whole."));
  const auto [what, frames, code] = GENERATE_COPY(table<const char*, std::string, int>({
      {"not masked (5.1)", frame(fin | text, post, 0, false), 1002},
      {"a reserved bit (5.2)", frame(fin | 0x40 | text, post), 1002},
      {"an unknown opcode (5.2)", frame(fin | 3, post), 1002},
      {"an unknown control opcode (5.2)", frame(fin | 11, ""), 1002},
      {"a length written too long (5.2)", frame(fin | text, "{}", 2), 1002},
      {"a length written much too long (5.2)", frame(fin | text, "{}", 8), 1002},
      {"a ping in fragments (5.4)", frame(ping, "a"), 1002},
      {"a ping of 126 bytes (5.5)", frame(fin | ping, std::string(126, 'x')), 1002},
      {"a continuation of nothing (5.4)", frame(fin | continuation, post), 1002},
      {"a message within another (5.4)", frame(text, "{") + frame(fin | text, post), 1002},
      {"text that is no UTF-8 (8.1)", frame(fin | text, "\"\xc3\x28\""), 1007},
      {"no UTF-8 across fragments (8.1)", frame(text, "\"\xc3") + frame(fin | continuation, "\""),
       1007},
      {"a close of one byte (5.5.1)", frame(fin | close, "x"), 1002},
      {"a close with a code that is never sent (7.4.1)", close_frame(1005), 1002},
      {"a close with a code below 1000 (7.4.2)", close_frame(999), 1002},
      {"a close whose reason is no UTF-8 (5.5.1)", close_frame(1000, "\xff"), 1002},
  }));
  CAPTURE(what);
  Wire wire(running.port());

  wire.send(frames);

  CHECK(wire.closed() == code);
  CHECK(events_at(running.port()).empty());
  CHECK(Live(running.port()).post(to_line(note("Others go on."))).at("results").size() == 1);
}

TEST_CASE("a closing is answered with its own code") {
  // RFC 6455, 5.5.1 and 7.4.2.
  const Running running;
  const int code = GENERATE(1000, 1001, 1011, 3000, 4999);
  Wire wire(running.port());
  wire.send(close_frame(code, "gone for lunch"));
  CHECK(wire.closed() == code);
}

TEST_CASE("a message in many fragments, one of them empty and pings between, is one post") {
  // RFC 6455, 5.4 and 5.5.3: a pong carries what its ping did.
  const Running running;
  Wire wire(running.port());
  const protocol::Event event = note("Ein Stück Bläschenbasalt, größer.");
  const std::string post = to_line(event);
  wire.send(frame(text, ""));
  for (std::size_t i = 0; i < post.size(); ++i) {
    wire.send(frame(continuation, post.substr(i, 1)));
    if (i % 50 == 0) {
      wire.send(frame(fin | ping, std::to_string(i)));
      CHECK(wire.next() == std::pair(fin | pong, std::to_string(i)));
    }
  }
  wire.send(frame(fin | continuation, ""));
  CHECK(Json::parse(wire.next().second).at("results").at(0).at("seq") == 1);
  CHECK(same_as_sent(events_at(running.port()).at(0), event));
}

TEST_CASE("a pong that nobody asked for is taken as a sign of life") {
  // RFC 6455, 5.5.3.
  const Running running;
  Wire wire(running.port());
  wire.send(frame(fin | pong, "still here") + frame(fin | text, to_line(note("And a post."))));
  CHECK(Json::parse(wire.next().second).at("results").at(0).at("seq") == 1);
}

TEST_CASE("a live connection that answers no ping is closed, and one that does stays") {
  const Folder folder;
  ServerOptions options;
  options.store = folder / "store";
  options.timing.silence = std::chrono::seconds(1);
  options.timing.heartbeat = std::chrono::hours(1);
  const auto server = Server::start(std::move(options)).value();
  Wire silent(server->port());
  Wire there(server->port());
  // The silent one reads its ping and does not answer; then its connection ends.
  CHECK(silent.next().first == (fin | ping));
  for (int pings = 0; pings < 3; ++pings) {
    const auto [first, payload] = there.next();
    REQUIRE(first == (fin | ping));
    there.send(frame(fin | pong, payload));
  }
  CHECK_THROWS_AS(silent.next(), boost::system::system_error);
  there.send(frame(fin | text, to_line(note("Still here."))));
  auto answer = there.next();
  while (answer.first != (fin | text)) answer = there.next();
  CHECK(Json::parse(answer.second).at("results").at(0).at("seq") == 1);
}

}  // namespace
}  // namespace stonecall::server
