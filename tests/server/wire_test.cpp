#include <sstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

// RFC 9112 byte by byte, as no well-behaved client sends it.
namespace stonecall::server {
namespace {

using namespace tests;
using protocol::to_line;

/// All that comes back for these bytes until the server closes, as answers.
std::vector<HttpAnswer> answers_to(std::uint16_t port, const std::string& bytes) {
  Http http(port);
  boost::asio::write(http.socket(), boost::asio::buffer(bytes));
  boost::beast::flat_buffer buffer;
  std::vector<HttpAnswer> answers;
  for (;;) {
    HttpAnswer answer;
    boost::system::error_code error;
    http::read(http.socket(), buffer, answer, error);
    if (error) return answers;
    answers.push_back(std::move(answer));
    if (!answers.back().keep_alive()) return answers;
  }
}

const std::string host = "Host: 127.0.0.1\r\n";
const std::string last = "Connection: close\r\n\r\n";

std::string post_of(const std::string& fields, const std::string& body) {
  return "POST /events HTTP/1.1\r\n" + host + "Content-Type: application/json\r\n" + fields +
         "\r\n" + body;
}

std::string hex(std::size_t number) {
  std::ostringstream text;
  text << std::hex << number;
  return text.str();
}

TEST_CASE("a request that could be taken in two ways is refused, and ends its connection") {
  const Running running;
  const std::string event = to_line(note("Smuggled."));
  const std::string size = std::to_string(event.size());
  const std::string inner = "GET /health HTTP/1.1\r\n" + host + "\r\n";
  const auto [what, bytes, status] = GENERATE_COPY(table<const char*, std::string, unsigned>({
      {"no Host (3.2)", "GET /health HTTP/1.1\r\n\r\n" + inner, 400},
      {"two of them (3.2)", "GET /health HTTP/1.1\r\n" + host + "Host: other\r\n\r\n" + inner, 400},
      {"two lengths (6.3)",
       post_of("Content-Length: 5\r\nContent-Length: " + size + "\r\n", event + inner), 400},
      {"a length and chunks (6.1)",
       post_of("Content-Length: 5\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n" + inner), 400},
      {"another coding (6.1)", post_of("Transfer-Encoding: gzip\r\n", inner), 501},
      {"chunked twice (6.1)",
       post_of("Transfer-Encoding: chunked, chunked\r\n", "0\r\n\r\n" + inner), 501},
      {"chunked in two fields (6.1)",
       post_of("Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n", "0\r\n\r\n" + inner),
       400},
      {"a length below nothing (6.2)", post_of("Content-Length: -1\r\n", inner), 400},
      {"a length past all numbers (6.2)",
       post_of("Content-Length: 99999999999999999999\r\n", inner), 400},
      {"a blank before the colon (5.1)",
       "GET /health HTTP/1.1\r\n" + host + "X : y\r\n\r\n" + inner, 400},
      {"a NUL in a field (RFC 9110, 5.5)",
       "GET /health HTTP/1.1\r\n" + host + std::string("X: a\0b\r\n\r\n", 10) + inner, 400},
      {"lines that end in LF alone", "GET /health HTTP/1.1\nHost: 127.0.0.1\n\n" + inner, 400},
      {"another version", "GET /health HTTP/2.0\r\n" + host + "\r\n" + inner, 400},
  }));
  CAPTURE(what);

  const auto answers = answers_to(running.port(), bytes);

  REQUIRE(answers.size() == 1);
  CHECK(answers.front().result_int() == status);
  CHECK(answers.front()[http::field::content_type] == "application/problem+json");
  CHECK_FALSE(answers.front().keep_alive());
  CHECK(running.server->store().newest() == 0);
}

TEST_CASE("what is unusual and right is taken") {
  const Running running;
  const std::string event = to_line(note("Taken."));
  const std::string size = std::to_string(event.size());
  const auto [what, bytes, count] = GENERATE_COPY(table<const char*, std::string, std::size_t>({
      {"an empty line before (2.2)", "\r\n\r\nGET /health HTTP/1.1\r\n" + host + last, 1},
      {"the whole address as target (3.2.2)",
       "GET http://localhost:7700/health HTTP/1.1\r\n" + host + last, 1},
      {"an escaped path (RFC 3986, 6.2.2)", "GET /%68ealth HTTP/1.1\r\n" + host + last, 1},
      {"two requests at once (9.3.2)",
       "GET /health HTTP/1.1\r\n" + host + "\r\nGET /health HTTP/1.1\r\n" + host + last, 2},
      {"chunks with an extension and a trailer (7.1)",
       post_of("Transfer-Encoding: Chunked\r\nConnection: close\r\n",
               "1;a=b\r\n{\r\n" + hex(event.size() - 1) + "\r\n" + event.substr(1) +
                   "\r\n0\r\nX-Trailer: x\r\n\r\n"),
       1},
      {"the same length twice in one field (RFC 9110, 8.6)",
       post_of("Connection: close\r\nContent-Length: " + size + ", " + size + "\r\n", event), 1},
      {"HTTP/1.0 without a Host", "GET /health HTTP/1.0\r\n\r\n", 1},
  }));
  CAPTURE(what);

  const auto answers = answers_to(running.port(), bytes);

  CHECK(answers.size() == count);
  for (const auto& answer : answers) CHECK(answer.result_int() == 200);
}

TEST_CASE("a name of another machine in the target counts as in Host") {
  const Running running;
  const auto answers =
      answers_to(running.port(), "GET http://elsewhere.example/events HTTP/1.1\r\n" + host + last);
  REQUIRE(answers.size() == 1);
  CHECK(answers.front().result_int() == 403);
}

TEST_CASE("a body that is packed is declined, not taken for broken JSON") {
  // RFC 9110, 15.5.16.
  const Running running;
  const auto answers = answers_to(
      running.port(),
      post_of("Content-Encoding: gzip\r\nContent-Length: 3\r\nConnection: close\r\n", "abc"));
  REQUIRE(answers.size() == 1);
  CHECK(answers.front().result_int() == 415);
}

TEST_CASE("an opening handshake that is not as RFC 6455 has it is told how it should be") {
  const Running running;
  const auto opening = [&](const std::string& fields) {
    const auto answers = answers_to(
        running.port(), "GET /live HTTP/1.1\r\n" + host +
                            "Connection: Upgrade\r\nUpgrade: websocket\r\n" + fields + "\r\n");
    REQUIRE(answers.size() == 1);
    CHECK(answers.front()[http::field::content_type] == "application/problem+json");
    return answers.front();
  };
  const std::string key = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";
  const std::string version = "Sec-WebSocket-Version: 13\r\n";
  // 4.2.1 and 4.4.
  CHECK(opening(version).result_int() == 400);
  CHECK(opening(version + "Sec-WebSocket-Key: short\r\n").result_int() == 400);
  CHECK(opening(version + "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25j!!==\r\n").result_int() == 400);
  const auto old = opening("Sec-WebSocket-Version: 8\r\n" + key);
  CHECK(old.result_int() == 426);
  CHECK(old[http::field::sec_websocket_version] == "13");
}

}  // namespace
}  // namespace stonecall::server
