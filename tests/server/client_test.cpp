#include "protocol/client.hpp"

#include <condition_variable>
#include <csignal>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <mutex>

#include <catch2/catch.hpp>

#include "server/server.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Client;
using protocol::ClientOptions;
using protocol::Event;
using protocol::EventPtr;
using protocol::LinkState;
using Phase = protocol::LinkState::Phase;

/// A client and all that came to it; waits for what is to come instead of sleeping.
class Desk {
 public:
  explicit Desk(ClientOptions options) {
    options.first_pause = std::chrono::milliseconds(10);
    options.longest_pause = std::chrono::milliseconds(100);
    options.wake = [this] {
      // Under the lock, so that a word between the check and the wait below is not lost.
      const std::lock_guard lock(mutex_);
      woken_.notify_all();
    };
    client.emplace(std::move(options));
  }

  static ClientOptions at(std::uint16_t port, std::uint64_t after = 0) {
    ClientOptions options;
    options.server = {"127.0.0.1", port};
    options.after = after;
    return options;
  }

  template <class Ready>
  void wait_until(Ready ready) {
    std::unique_lock lock(mutex_);
    const bool came = woken_.wait_for(lock, std::chrono::seconds(30), [&] {
      auto incoming = client->take();
      events.insert(events.end(), incoming.events.begin(), incoming.events.end());
      results.insert(results.end(), incoming.results.begin(), incoming.results.end());
      faults.insert(faults.end(), incoming.faults.begin(), incoming.faults.end());
      return ready();
    });
    REQUIRE(came);
  }
  void wait_for(Phase phase) {
    wait_until([&] { return client->link().phase == phase; });
  }
  void wait_for_events(std::size_t count) {
    wait_until([&] { return events.size() >= count; });
  }

  std::vector<EventPtr> events;
  std::vector<protocol::PostResult> results;
  std::vector<protocol::Fault> faults;

 private:
  std::mutex mutex_;
  std::condition_variable woken_;

 public:
  std::optional<Client> client;  // last: its thread uses the others
};

std::unique_ptr<Server> started(const Folder& folder, std::uint16_t port = 0) {
  ServerOptions options;
  options.store = folder / "store";
  options.port = port;
  options.timing.heartbeat = std::chrono::milliseconds(20);
  auto server = Server::start(std::move(options));
  if (!server) FAIL(server.error());
  return std::move(*server);
}

EventPtr shared(Event event) {
  return std::make_shared<const Event>(std::move(event));
}

void check_numbers(const std::vector<EventPtr>& events, std::uint64_t first) {
  for (std::size_t i = 0; i < events.size(); ++i) REQUIRE(events[i]->seq == first + i);
}

TEST_CASE("a client follows from where it is told and says when it is up to date") {
  const Folder folder;
  const auto server = started(folder);
  Http(server->port()).post(lines_of({note("1"), note("2"), note("3")}), "application/x-ndjson");
  Desk desk(Desk::at(server->port(), 1));
  desk.wait_for(Phase::live);
  desk.wait_for_events(2);
  check_numbers(desk.events, 2);
  const LinkState link = desk.client->link();
  CHECK(link.connected());
  CHECK(link.connected_since);
  CHECK(link.last_seq == 3);
  CHECK(link.waiting == 0);
}

TEST_CASE("a client's post is answered and comes back to it as an event") {
  const Folder folder;
  const auto server = started(folder);
  Desk desk(Desk::at(server->port()));
  const auto event = shared(note("Typed here."));
  REQUIRE(desk.client->post(event));
  desk.wait_until([&] { return desk.events.size() == 1 && desk.results.size() == 1; });
  CHECK(desk.results.front().id == event->id);
  CHECK(desk.results.front().seq == 1);
  CHECK(same_as_sent(*desk.events.front(), *event));
  CHECK(desk.client->unsent().empty());
}

TEST_CASE("a refused post is reported with the reason and not sent again") {
  const Folder folder;
  const auto server = started(folder);
  Desk desk(Desk::at(server->port()));
  Event event = note("One.");
  desk.client->post(shared(event));
  event.from = "SOMEBODY-ELSE";
  desk.client->post(shared(event));
  desk.wait_until([&] { return desk.results.size() == 2; });
  CHECK(desk.results[0].refused.empty());
  CHECK_FALSE(desk.results[1].refused.empty());
  CHECK(desk.client->link().waiting == 0);
}

TEST_CASE("what is posted while the server is away is kept and sent once when it is back") {
  const Folder folder;
  auto server = started(folder);
  const std::uint16_t port = server->port();
  Desk desk(Desk::at(port));
  desk.wait_for(Phase::live);
  desk.client->post(shared(note("Before.")));
  desk.wait_for_events(1);
  server.reset();
  desk.wait_for(Phase::waiting);
  CHECK_FALSE(desk.client->link().connected_since);
  CHECK(desk.client->link().last_word);
  std::vector<EventPtr> typed;
  for (int i = 0; i < 250; ++i) {
    typed.push_back(shared(look(i, 1)));
    REQUIRE(desk.client->post(typed.back()));
  }
  CHECK(desk.client->link().waiting == 250);
  CHECK(desk.client->unsent().size() == 250);

  server = started(folder, port);
  desk.wait_until([&] { return desk.results.size() == 251 && desk.events.size() == 251; });

  check_numbers(desk.events, 1);
  for (std::size_t i = 0; i < typed.size(); ++i) {
    CHECK(same_as_sent(*desk.events[i + 1], *typed[i]));
    CHECK(desk.results[i + 1].seq == i + 2);
  }
  CHECK(server->store().newest() == 251);
}

TEST_CASE("posts that were on their way when the server was killed are stored once") {
  const Folder folder;
  const std::string store = "--store " + (folder / "store").string();
  auto program = std::make_unique<Program>(store);
  const std::uint16_t port = program->port();
  Desk desk(Desk::at(port));
  constexpr std::size_t posts = 2'000;
  for (std::size_t i = 0; i < posts; ++i) desk.client->post(shared(look(static_cast<int>(i), 0)));
  for (std::size_t killed_at = 200; killed_at <= 1'000; killed_at += 400) {
    desk.wait_until([&] { return desk.results.size() >= killed_at; });
    program->signal(SIGKILL);
    program->wait();
    program = std::make_unique<Program>(store + " --listen 127.0.0.1:" + std::to_string(port));
    REQUIRE(program->port() == port);
  }
  desk.wait_until([&] { return desk.results.size() == posts && desk.events.size() == posts; });
  check_numbers(desk.events, 1);
  CHECK(events_at(port).size() == posts);
}

TEST_CASE("a lost link is resumed after the last event, without gap or repeat") {
  const Folder folder;
  auto server = started(folder);
  const std::uint16_t port = server->port();
  Desk desk(Desk::at(port));
  std::size_t sent = 0;
  for (int round = 0; round < 4; ++round) {
    for (int i = 0; i < 10; ++i, ++sent) Http(port).post(protocol::to_line(look(round, i)));
    desk.wait_for_events(sent);
    server.reset();
    server = started(folder, port);
  }
  check_numbers(desk.events, 1);
  CHECK(desk.events.size() == sent);
}

TEST_CASE("a client regains no other store at the same address, however many events that has") {
  const Folder ridge, gully;
  const auto fill = [](std::uint16_t port, int events) {
    for (int i = 0; i < events; ++i) Http(port).post(protocol::to_line(look(0, i)));
  };
  auto server = started(ridge);
  const std::uint16_t port = server->port();
  fill(port, 3);
  Desk desk(Desk::at(port));
  desk.wait_for_events(3);
  server.reset();
  desk.wait_for(Phase::waiting);
  const Event meant = note("For the ridge.");
  REQUIRE(desk.client->post(shared(meant)));

  const int theirs = GENERATE(2, 3, 5);  // less by the last, as many, more
  server = started(gully, port);
  fill(port, theirs);
  desk.wait_for(Phase::refused);
  CHECK(events_at(port).size() == static_cast<std::size_t>(theirs));
  CHECK(desk.events.size() == 3);
  server.reset();

  server = started(ridge, port);
  desk.wait_for_events(4);
  CHECK(desk.events.back()->id == meant.id);
  check_numbers(desk.events, 1);
}

TEST_CASE("an outbox that is full says so") {
  auto options = Desk::at(1);  // nobody listens there
  options.outbox_events = 3;
  Desk desk(options);
  for (int i = 0; i < 3; ++i) CHECK(desk.client->post(shared(look(i, 0))));
  CHECK_FALSE(desk.client->post(shared(look(4, 0))));
  desk.wait_for(Phase::waiting);
  CHECK_FALSE(desk.client->link().why.empty());
  CHECK(desk.client->link().next_try);
}

TEST_CASE("a client that is not let in says what the server said") {
  const Folder folder;
  ServerOptions server_options;
  server_options.store = folder / "store";
  server_options.access = Access::parse("observer a-token-for-visitors\n").value();
  auto server = Server::start(std::move(server_options));
  REQUIRE(server);
  auto options = Desk::at((*server)->port());
  SECTION("without its token") {
    Desk desk(options);
    desk.wait_for(Phase::refused);
    CHECK(desk.client->link().why.find("401") != std::string::npos);
  }
  SECTION("but is with it") {
    options.token = "a-token-for-visitors";
    Desk desk(options);
    desk.wait_for(Phase::live);
    desk.client->post(shared(note("Visitors only look.")));
    desk.wait_until([&] { return desk.results.size() == 1; });
    CHECK(desk.results.front().refused.find("observer") != std::string::npos);
  }
}

TEST_CASE("a reader that takes nothing pauses the stream and gets all of it later") {
  const Folder folder;
  const auto server = started(folder);
  Http poster(server->port());
  constexpr std::size_t count = 3'000;
  for (std::size_t i = 0; i < count; i += 100) {
    std::vector<Event> events;
    for (int k = 0; k < 100; ++k) events.push_back(note(std::string(500, 'x')));
    poster.post(lines_of(events), "application/x-ndjson");
  }
  auto options = Desk::at(server->port());
  options.inbox_events = 50;
  Desk desk(options);
  desk.wait_for_events(count);
  check_numbers(desk.events, 1);
}

TEST_CASE("the client knows the server's clock, also that of a log that is played") {
  const Folder folder;
  const auto server = started(folder);
  server->clock().play(time_of("2027-05-18T09:00:00+02:00"),
                       time_of("2027-05-18T12:00:00+02:00").instant, 2);
  Desk desk(Desk::at(server->port()));
  desk.wait_until([&] { return desk.client->link().clock_offset.has_value(); });
  const LinkState link = desk.client->link();
  CHECK(link.clock_speed == 2);
  const auto begin = time_of("2027-05-18T09:00:00+02:00").instant;
  CHECK(link.server_time(*link.clock_taken) >= begin);
  CHECK(link.server_time(*link.clock_taken + std::chrono::seconds(10)) -
            link.server_time(*link.clock_taken) ==
        std::chrono::seconds(20));
}

TEST_CASE("the way of the server's word is allowed for at the pace of its clock") {
  const auto here = time_of("2026-01-01T00:00:00Z").instant;
  const auto said = time_of("2027-05-18T09:00:00+02:00").instant;
  using namespace std::chrono_literals;
  LinkState link;
  link.round_trip = 400ms;
  link.server_said(said, 1, here);
  CHECK(link.server_time(here) == said + 200ms);
  CHECK(link.server_time(here + 1s) == said + 1200ms);
  link.server_said(said, 30, here);
  CHECK(link.server_time(here) == said + 6s);
  link.server_said(said, 0, here);  // held: it shows the same however long the way and the wait
  CHECK(link.server_time(here) == said);
  CHECK(link.server_time(here + 1h) == said);
}

TEST_CASE("closing waits for what is in the outbox, as long as it is told") {
  const Folder folder;
  const auto server = started(folder);
  Desk desk(Desk::at(server->port()));
  for (int i = 0; i < 100; ++i) desk.client->post(shared(look(i, 0)));
  desk.client->close(std::chrono::seconds(30));
  CHECK(desk.client->unsent().empty());
  CHECK(server->store().newest() == 100);
  CHECK(desk.client->link().phase == Phase::closed);
  CHECK_FALSE(desk.client->post(shared(look(1, 1))));
}

/// A certificate for this machine's loopback, signed by itself.
void make_certificate(const Folder& folder) {
  const std::string command =
      "openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 "
      "-nodes -days 2 -subj /CN=localhost -addext "
      "subjectAltName=IP:127.0.0.1,DNS:localhost -keyout " +
      (folder / "key.pem").string() + " -out " + (folder / "certificate.pem").string() +
      " 2> /dev/null";
  REQUIRE(std::system(command.c_str()) == 0);
}

TEST_CASE("over TLS a client follows a server whose certificate is trusted, and no other") {
  const Folder folder;
  make_certificate(folder);
  ServerOptions options;
  options.store = folder / "store";
  options.certificate = folder / "certificate.pem";
  options.key = folder / "key.pem";
  auto server = Server::start(std::move(options));
  if (!server) FAIL(server.error());
  ClientOptions to_server = Desk::at((*server)->port());
  to_server.server.secure = true;
  {
    Desk distrustful(to_server);
    distrustful.wait_until([&] { return !distrustful.client->link().why.empty(); });
    CHECK(distrustful.client->link().why.find("no TLS") != std::string::npos);
  }
  {
    Desk unsecured(Desk::at((*server)->port()));
    unsecured.wait_for(Phase::waiting);
  }
  ::setenv("SSL_CERT_FILE", (folder / "certificate.pem").c_str(), 1);
  Desk desk(to_server);
  desk.wait_for(Phase::live);
  REQUIRE(desk.client->post(shared(note("Nobody listens in."))));
  desk.wait_until([&] { return desk.events.size() == 1 && desk.results.size() == 1; });
  (*server)->stop();
  desk.wait_for(Phase::waiting);
  ::unsetenv("SSL_CERT_FILE");
}

TEST_CASE("a certificate that cannot be used, or a key of another one, is a sentence") {
  const Folder folder;
  const Folder other;
  make_certificate(folder);
  make_certificate(other);
  ServerOptions options;
  options.store = folder / "store";
  options.certificate = folder / "certificate.pem";
  options.key = other / "key.pem";
  CHECK(Server::start(options).error().find("key.pem") != std::string::npos);
  options.certificate = folder / "none.pem";
  CHECK(Server::start(options).error().find("none.pem") != std::string::npos);
}

TEST_CASE("a certificate that has expired is served, as the clock may be wrong, and told of") {
  const Folder folder;
  make_certificate(folder);
  const auto in = [&](const char* name) { return (folder / name).string(); };
  const std::string command = "openssl x509 -in " + in("certificate.pem") + " -signkey " +
                              in("key.pem") + " -days -1 -out " + in("expired.pem") +
                              " 2> /dev/null";
  REQUIRE(std::system(command.c_str()) == 0);
  const auto told_of = [&](const std::string& certificate) {
    Program program("--store " + in("store") + " --certificate " + in(certificate.c_str()) +
                        " --key " + in("key.pem"),
                    "exec 2> " + in("log") + "; exec");
    CHECK(program.port() != 0);
    program.signal(SIGTERM);
    program.wait();
    std::ifstream log(in("log"));
    return std::string(std::istreambuf_iterator<char>(log), {});
  };
  CHECK(told_of("certificate.pem").find("expired") == std::string::npos);
  CHECK(told_of("expired.pem").find("expired.pem has expired") != std::string::npos);
}

TEST_CASE("an encrypted key is a sentence, and nobody is asked for its pass phrase") {
  const Folder folder;
  make_certificate(folder);
  const std::string command = "openssl pkey -in " + (folder / "key.pem").string() +
                              " -aes256 -passout pass:ridge -out " +
                              (folder / "encrypted.pem").string();
  REQUIRE(std::system(command.c_str()) == 0);
  ServerOptions options;
  options.store = folder / "store";
  options.certificate = folder / "certificate.pem";
  options.key = folder / "encrypted.pem";
  CHECK(Server::start(options).error().find("is encrypted") != std::string::npos);
}

TEST_CASE("a server's address is read with a host, a bracketed address, and a scheme or none") {
  using protocol::parse_server_address;
  CHECK(parse_server_address("127.0.0.1:7700").value() ==
        protocol::ServerAddress{"127.0.0.1", 7700});
  CHECK(parse_server_address("http://hut.local:80/").value() ==
        protocol::ServerAddress{"hut.local", 80});
  CHECK(parse_server_address("ws://[::1]:7700").value() == protocol::ServerAddress{"::1", 7700});
  CHECK(parse_server_address("https://hut.local:443").value() ==
        protocol::ServerAddress{"hut.local", 443, true});
  CHECK(parse_server_address("wss://[::1]:7700/").value() ==
        protocol::ServerAddress{"::1", 7700, true});
  for (const char* wrong :
       {"", ":", "hut", "hut:", "hut:0", "hut:65536", ":7700", "::1:7700", "hut:77x", "[]:7"}) {
    CAPTURE(wrong);
    CHECK_FALSE(parse_server_address(wrong));
  }
}

}  // namespace
}  // namespace stonecall::server
