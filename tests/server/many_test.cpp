#include <fstream>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include <catch2/catch.hpp>
#include <sys/resource.h>

#include "server/server.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

// Many at once, and what those who misbehave cost the others: nothing.
namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using protocol::to_line;

#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr bool sanitized = true;  // memory is kept back to find its misuse; all takes longer
#else
constexpr bool sanitized = false;
#endif

/// What the process holds now, in MiB: VmRSS of proc(5).
double memory_of(int pid) {
  std::ifstream status("/proc/" + std::to_string(pid) + "/status");
  for (std::string word; status >> word;) {
    double kib = 0;
    if (word == "VmRSS:" && status >> kib) return kib / 1024;
  }
  return 0;
}

/// This process keeps a socket for each it plays. How many it may have at most.
std::size_t allow_many_files() {
  rlimit files{};
  ::getrlimit(RLIMIT_NOFILE, &files);
  files.rlim_cur = files.rlim_max;
  ::setrlimit(RLIMIT_NOFILE, &files);
  return files.rlim_cur;
}

std::string notes(int count, std::size_t bytes) {
  std::vector<Event> events;
  for (int i = 0; i < count; ++i) events.push_back(note(std::string(bytes, 'x')));
  return lines_of(events);
}

TEST_CASE("200 desks of which 20 never read: the others see each event, in order") {
  const Folder folder;
  ServerOptions options;
  options.store = folder / "store";
  options.queue_bytes = 256 * 1024;
  options.timing.silence = std::chrono::minutes(10);  // they are slow, not gone
  options.threads = 2;
  const auto server = Server::start(std::move(options)).value();
  constexpr std::size_t never = 20;
  constexpr std::size_t desks = 200;
  constexpr int posts = sanitized ? 10 : 40;
  constexpr int in_a_post = 10;
  boost::asio::io_context io;
  std::vector<std::unique_ptr<Live>> silent;
  std::vector<std::unique_ptr<Live>> reading;
  for (std::size_t i = 0; i < desks; ++i) {
    auto desk = std::make_unique<Live>(server->port(), 0);
    desk->read("caught_up");
    // A small window, so that the server's queue for it fills and not the kernel's.
    if (i % 10 == 0)
      desk->stream().next_layer().set_option(Tcp::socket::receive_buffer_size(4'096));
    (i % 10 == 0 ? silent : reading).push_back(std::move(desk));
  }
  REQUIRE(silent.size() == never);
  // As many readers as there are cores to read with; each of its desks in turn.
  constexpr std::size_t readers = 4;
  std::vector<std::thread> threads;
  std::atomic<std::size_t> complete = 0;
  for (std::size_t r = 0; r < readers; ++r) {
    threads.emplace_back([&, r] {
      std::vector<Sequence> seen(reading.size());
      for (bool more = true; more;) {
        more = false;
        for (std::size_t d = r; d < reading.size(); d += readers) {
          if (seen[d] == posts * in_a_post) continue;
          for (const Json message = reading[d]->read("event");
               const Json& event : message.at("events"))
            if (event.at("seq") == seen[d] + 1) ++seen[d];
          more = true;
        }
      }
      for (std::size_t d = r; d < reading.size(); d += readers)
        if (seen[d] == posts * in_a_post) ++complete;
    });
  }
  Http poster(server->port());
  for (int i = 0; i < posts; ++i)
    REQUIRE(poster.post(notes(in_a_post, 7'000), "application/x-ndjson").result_int() == 200);
  for (auto& thread : threads) thread.join();
  CHECK(complete == desks - never);
  // Each of them was moved back to reading from the store, perhaps more than once.
  while (server->context().hub.dropped_to_catch_up() < never) {
    // The first connection may have been idle for too long by now.
    REQUIRE(
        Http(server->port()).post(notes(in_a_post, 7'000), "application/x-ndjson").result_int() ==
        200);
  }
  // That one of them gets all once it reads is shown elsewhere; through so small a window it takes
  // long.
  const auto late = silent.front()->events(in_a_post);
  for (std::size_t i = 0; i < late.size(); ++i) REQUIRE(late[i].seq == i + 1);
}

TEST_CASE("desks that never read do not let the server's memory grow") {
  const Folder folder;
  Program program("--store " + (folder / "store").string() + " --rate 0");
  std::vector<std::unique_ptr<Live>> silent;
  for (int i = 0; i < 20; ++i) {
    silent.push_back(std::make_unique<Live>(program.port(), 0));
    silent.back()->read("caught_up");
  }
  Live reading(program.port(), 0);
  Http poster(program.port());
  const auto post_and_read = [&](int megabytes) {
    for (int i = 0; i < megabytes; ++i) {
      REQUIRE(poster.post(notes(130, 8'000), "application/x-ndjson").result_int() == 200);
      reading.events(130);
    }
  };
  post_and_read(sanitized ? 10 : 40);  // more than queues and buffers take
  const double before = memory_of(program.pid());
  post_and_read(sanitized ? 5 : 60);
  const double after = memory_of(program.pid());
  CAPTURE(before, after);
  REQUIRE(before > 0);
  if (!sanitized) CHECK(after - before < 15);
}

TEST_CASE("ten thousand connections, silent or noisy, cost those who work nothing") {
  const Folder folder;
  constexpr std::size_t strangers = 10'000;
  REQUIRE(allow_many_files() > strangers + 100);
  Program program("--store " + (folder / "store").string());
  Live desk(program.port(), 0);
  Live poster(program.port());
  Sequence seq = 0;
  const auto goes_on = [&] {
    CHECK(poster.post(to_line(note("Working."))).at("results").at(0).at("seq") == ++seq);
    CHECK(desk.events(1).front().seq == seq);
  };
  goes_on();
  boost::asio::io_context io;
  std::vector<Tcp::socket> sockets;
  for (std::size_t i = 0; i < strangers; ++i) {
    boost::system::error_code ignored;
    sockets.emplace_back(io).connect({boost::asio::ip::address_v4::loopback(), program.port()},
                                     ignored);
    if (i % 3 == 1) sockets.back().write_some(boost::asio::buffer("\x16\x03noise", 7), ignored);
    if (i % 3 == 2)
      sockets.back().write_some(boost::asio::buffer(std::string_view("GET /health HTTP/1.1\r\n")),
                                ignored);
    if (i % 500 == 0) goes_on();
  }
  goes_on();
  // Somebody new is served too, and the server knows how many it has turned away.
  Http late(program.port());
  CHECK(late.get("/health").result_int() == 200);
  const std::string metrics = late.get("/metrics").body();
  CHECK(metrics.find("stonecall_connections_turned_away_total 0\n") == std::string::npos);
  if (!sanitized) CHECK(memory_of(program.pid()) < 150);
}

}  // namespace
}  // namespace stonecall::server
