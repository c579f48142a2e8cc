#include <algorithm>
#include <atomic>
#include <thread>

#include <catch2/catch.hpp>

#include "server/server.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using protocol::to_line;

std::unique_ptr<Server> started(const Folder& folder, ServerOptions options = {}) {
  options.store = folder / "store";
  auto server = Server::start(std::move(options));
  if (!server) FAIL(server.error());
  return std::move(*server);
}

void check_numbers(const std::vector<Event>& events, Sequence first) {
  for (std::size_t i = 0; i < events.size(); ++i) REQUIRE(events[i].seq == first + i);
}

TEST_CASE("posts that come faster than an address may send them wait, and none is refused") {
  ServerOptions options;
  options.requests_per_second = 20;  // so 40 at once, one of them the greeting
  const Folder folder;
  const auto server = started(folder, std::move(options));
  Live live(server->port());
  for (int i = 0; i < 50; ++i) live.write(to_line(note(std::to_string(i))));
  for (int i = 0; i < 50; ++i) CHECK(live.read("results").at("results").at(0).at("seq") == i + 1);
}

TEST_CASE(
    "a desk gets the stored events, then is told that it is up to date, then gets what is new") {
  const Folder folder;
  const auto server = started(folder);
  Http poster(server->port());
  poster.post(lines_of({note("1"), note("2"), note("3")}), "application/x-ndjson");

  Live desk(server->port(), 1);
  check_numbers(desk.events(2), 2);
  CHECK(desk.read("caught_up").at("seq") == 3);
  const Event fresh = note("4");
  poster.post(to_line(fresh));
  const auto live = desk.events(1);
  CHECK(live.front().seq == 4);
  CHECK(same_as_sent(live.front(), fresh));
}

TEST_CASE("an empty store is caught up at once") {
  const Folder folder;
  const auto server = started(folder);
  Live desk(server->port(), 0);
  CHECK(desk.read().at("type") == "caught_up");
}

TEST_CASE("a heartbeat tells the server's time and its newest event") {
  const Folder folder;
  ServerOptions options;
  options.timing.heartbeat = std::chrono::milliseconds(20);
  const auto server = started(folder, std::move(options));
  Http(server->port()).post(to_line(note("1")));
  Live desk(server->port(), 0);
  const Json heartbeat = desk.read("heartbeat");
  CHECK(heartbeat.at("newest") == 1);
  CHECK(protocol::parse_timestamp(heartbeat.at("time").get<std::string>()));
  desk.read("heartbeat");
}

TEST_CASE("events can be posted on the live connection, with the same answer") {
  const Folder folder;
  const auto server = started(folder);
  Live desk(server->port());
  const Event event = note("Typed at the desk.");
  CHECK(desk.post(to_line(event)).at("results") ==
        Json::parse(R"([{"id":")" + to_string(event.id) + R"(","seq":1}])"));
  CHECK(desk.post("[" + to_line(event) + "," + to_line(look(1, 2)) + "]").at("results").size() ==
        2);
  CHECK(desk.post("{}").at("results").at(0).contains("refused"));
  CHECK(desk.post("not JSON").at("results").at(0).contains("refused"));
  CHECK(desk.post("[not JSON").at("problem").at("status") == 400);
  CHECK(desk.post("[]").at("problem").at("status") == 400);
  CHECK(events_at(server->port()).size() == 2);
}

TEST_CASE("posts sent without waiting are answered one by one, in their order") {
  const Folder folder;
  const auto server = started(folder);
  Live poster(server->port());
  std::vector<Event> events;
  for (int i = 0; i < 300; ++i) events.push_back(look(i, 1));
  std::thread sending([&] {
    for (std::size_t i = 0; i < events.size(); ++i)
      poster.write(i % 10 == 9 ? "{}" : to_line(events[i]));
  });
  for (std::size_t i = 0; i < events.size(); ++i) {
    const Json results = poster.read("results").at("results");
    REQUIRE(results.size() == 1);
    if (i % 10 == 9)
      CHECK(results[0].contains("refused"));
    else
      CHECK(results[0].at("id") == to_string(events[i].id));
  }
  sending.join();
}

TEST_CASE("desks that join at any moment while many post see every event once and in order") {
  const Folder folder;
  ServerOptions options;
  options.threads = 2;
  const auto server = started(folder, std::move(options));
  constexpr int posters = 4;
  constexpr int each = 150;
  std::vector<std::thread> threads;
  for (int p = 0; p < posters; ++p) {
    threads.emplace_back([&, p] {
      Live poster(server->port());
      for (int i = 0; i < each; ++i) poster.post(to_line(look(p, i)));
    });
  }
  std::vector<std::vector<Event>> seen(6);
  for (std::size_t d = 0; d < seen.size(); ++d) {
    threads.emplace_back([&, d] {
      // Each begins when the exercise is so far on: none of it at a set time.
      const Sequence begin = d * 80;
      Live first(server->port(), 0);
      first.events(begin);
      Live desk(server->port(), begin);
      seen[d] = desk.events(posters * each - begin);
    });
  }
  for (auto& thread : threads) thread.join();
  for (std::size_t d = 0; d < seen.size(); ++d) {
    CHECK(seen[d].size() == posters * each - d * 80);
    check_numbers(seen[d], d * 80 + 1);
  }
}

TEST_CASE(
    "a desk that does not read is moved back to catch-up, misses nothing and holds up nobody") {
  const Folder folder;
  ServerOptions options;
  options.queue_bytes = 512 * 1024;
  options.timing.silence = std::chrono::minutes(10);  // it is slow, not gone
  const auto server = started(folder, std::move(options));
  Live slow(server->port(), 0);
  slow.read("caught_up");
  Live quick(server->port(), 0);
  Http poster(server->port());
  // More than the sockets' own buffers take, so that the queue must fill.
  constexpr std::size_t posts = 150;
  for (std::size_t i = 0; i < posts; ++i) {
    std::vector<Event> events;
    for (int k = 0; k < 20; ++k) events.push_back(note(std::string(8'000, 'x')));
    REQUIRE(poster.post(lines_of(events), "application/x-ndjson").result_int() == 200);
    REQUIRE(quick.events(20).back().seq == 20 * (i + 1));
  }
  CHECK(server->context().hub.dropped_to_catch_up() >= 1);
  const auto late = slow.events(20 * posts);
  CHECK(late.size() == 20 * posts);
  check_numbers(late, 1);
  CHECK(slow.read("caught_up").at("seq") == 20 * posts);
}

TEST_CASE("a desk that asks for events past the newest is told that this is another store") {
  const Folder folder;
  const auto server = started(folder);
  const auto answer =
      Http(server->port())
          .send(http::verb::get, "/live?after=12", {}, {},
                {{"Connection", "Upgrade"},
                 {"Upgrade", "websocket"},
                 {"Sec-WebSocket-Version", "13"},
                 {"Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ=="}});  // the key of RFC 6455, 1.3
  CHECK(answer.result_int() == 409);
}

TEST_CASE("another subprotocol is declined") {
  const Folder folder;
  const auto server = started(folder);
  const auto answer = Http(server->port())
                          .send(http::verb::get, "/live", {}, {},
                                {{"Connection", "Upgrade"},
                                 {"Upgrade", "websocket"},
                                 {"Sec-WebSocket-Protocol", "chat"},
                                 {"Sec-WebSocket-Version", "13"},
                                 {"Sec-WebSocket-Key", "dGhlIHNhbXBsZSBub25jZQ=="}});
  CHECK(answer.result_int() == 400);
}

TEST_CASE("a message over the limit closes its own connection with code 1009") {
  // RFC 6455, 7.4.1: 1009, message too big.
  const Folder folder;
  const auto server = started(folder);
  Live desk(server->port(), 0);
  Live loud(server->port());
  boost::beast::error_code ignored;
  loud.stream().write(boost::asio::buffer(std::string(4 * 1024 * 1024 + 1, ' ')), ignored);
  boost::beast::flat_buffer buffer;
  boost::beast::error_code error;
  while (!error) loud.stream().read(buffer, error);
  CHECK(loud.stream().reason().code == websocket::close_code::too_big);
  Http(server->port()).post(to_line(note("Heard.")));
  CHECK(desk.events(1).size() == 1);
}

TEST_CASE("a stopping server answers what it took and tells its desks that it goes") {
  const Folder folder;
  auto server = started(folder);
  Live desk(server->port(), 0);
  desk.read("caught_up");
  std::atomic<Sequence> acknowledged = 0;
  std::atomic<bool> posting = false;
  std::vector<std::thread> posters;
  for (int p = 0; p < 4; ++p) {
    posters.emplace_back([&, p, port = server->port()] {
      try {
        Live poster(port);
        for (int i = 0;; ++i) {
          const Json answer = poster.post(to_line(look(p, i)));
          if (answer.at("results").empty()) break;
          ++acknowledged;
          posting = true;
          posting.notify_all();
        }
      } catch (const boost::system::system_error&) {
        // the connection ended, as it should
      }
    });
  }
  posting.wait(false);
  // A desk reads while the server stops; the closing handshake has two sides.
  boost::beast::error_code error;
  std::thread reader([&] {
    boost::beast::flat_buffer buffer;
    while (!error) desk.stream().read(buffer, error);
  });
  server->stop(std::chrono::seconds(10));
  for (auto& poster : posters) poster.join();
  reader.join();
  CHECK(error == websocket::error::closed);
  CHECK(desk.stream().reason().code == websocket::close_code::going_away);
  server.reset();
  CHECK(started(folder)->store().newest() == acknowledged);
}

}  // namespace
}  // namespace stonecall::server
