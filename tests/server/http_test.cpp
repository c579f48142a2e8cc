#include <thread>

#include <catch2/catch.hpp>

#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"
#include "tests/support/one_of_each.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using protocol::to_line;

Json body_of(const HttpAnswer& answer) {
  return Json::parse(answer.body());
}

/// RFC 9457, 3.1: type, title, status and detail, in this media type.
void check_problem(const HttpAnswer& answer, unsigned status) {
  INFO(answer.body());
  CHECK(answer.result_int() == status);
  CHECK(answer[http::field::content_type] == "application/problem+json");
  const Json problem = body_of(answer);
  CHECK(problem.at("type") == "about:blank");
  CHECK(problem.at("status") == status);
  CHECK_FALSE(problem.at("title").get<std::string>().empty());
  CHECK_FALSE(problem.at("detail").get<std::string>().empty());
}

TEST_CASE("an event that is posted is answered with its number and can be read back") {
  const Running running;
  const Event event = note("Basalt, rounded.");

  const HttpAnswer answer = Http(running.port()).post(to_line(event));

  CHECK(answer.result_int() == 200);
  CHECK(body_of(answer) ==
        Json::parse(R"({"results":[{"id":")" + to_string(event.id) + R"(","seq":1}]})"));
  const auto stored = events_at(running.port());
  REQUIRE(stored.size() == 1);
  CHECK(same_as_sent(stored.front(), event));
}

TEST_CASE("an array and JSON Lines are answered in the order sent") {
  const Running running;
  Http http(running.port());
  const std::vector<Event> events{note("one"), note("two"), look(3, 1)};
  const std::string array =
      "[" + to_line(events[0]) + "," + to_line(events[1]) + "," + to_line(events[2]) + "]";
  const std::string dos_lines =
      to_line(events[0]) + "\r\n\r\n" + to_line(events[1]) + "\r\n" + to_line(events[2]);
  // The events have new ids in each run, so only the choice is generated.
  const int form = GENERATE(0, 1, 2);
  const std::string body = form == 0 ? array : form == 1 ? lines_of(events) : dos_lines;
  const std::string type = form == 0 ? "application/json; charset=utf-8" : "application/x-ndjson";

  const Json results = body_of(http.post(body, type)).at("results");

  REQUIRE(results.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(results[i].at("id") == to_string(events[i].id));
    CHECK(results[i].at("seq") == i + 1);
  }
}

TEST_CASE("where some events of a post are refused the others stand") {
  const Running running;
  const Event good = note("Kept.");
  const std::string bad =
      R"({"id":"6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10","kind":"arrival","at":"noon","from":"F"})";

  const HttpAnswer answer = Http(running.port()).post("[" + bad + "," + to_line(good) + ",17]");

  CHECK(answer.result_int() == 207);
  const Json results = body_of(answer).at("results");
  REQUIRE(results.size() == 3);
  CHECK(results[0].at("id") == "6f0c7d1e-5b0a-4c57-9a58-0d4f3f1f2a10");
  CHECK(results[0].at("refused").get<std::string>().find("\"at\"") != std::string::npos);
  CHECK(results[1].at("seq") == 1);
  CHECK(results[2].at("id").is_null());
  CHECK(events_at(running.port()).size() == 1);
}

TEST_CASE("the same id with other content is refused by name") {
  const Running running;
  Http http(running.port());
  Event event = note("Seven.");
  http.post(to_line(event));
  event.from = "FIELD-2";

  const HttpAnswer answer = http.post(to_line(event));

  CHECK(answer.result_int() == 207);
  CHECK(body_of(answer).at("results").at(0).contains("refused"));
}

TEST_CASE("what cannot be read as events gets 400 and costs nothing") {
  const Running running;
  Http http(running.port());
  const std::string deep = std::string(5'000, '[') + std::string(5'000, ']');
  const std::string body = GENERATE_COPY(
      std::string("{"), std::string("hello"), std::string("[]"), std::string(" \n "),
      std::string("17"), std::string("{}"), deep, "{\"a\":" + deep + "}", std::string("[1,2,3]"),
      std::string("{\"id\":\"\xff\xfe\"}"), std::string("\0\0\0", 3), std::string("{\"at\":1e999}"),
      "\"" + std::string(1'000'000, 'x') + "\"");
  CAPTURE(body.substr(0, 60));
  const auto type = GENERATE(std::string("application/json"), std::string("application/x-ndjson"));

  check_problem(http.post(body, type), 400);

  CHECK(http.post(to_line(note("Still here."))).result_int() == 200);
  CHECK(events_at(running.port()).size() == 1);
}

TEST_CASE("an event over 64 KiB is refused with the limit") {
  const Running running;
  Event event = note("Too long.");
  for (int i = 0; i < 9; ++i) event.unknown["extra_" + std::to_string(i)] = std::string(8'000, 'x');
  const HttpAnswer answer = Http(running.port()).post("[" + to_line(event) + "]");
  check_problem(answer, 400);
  CHECK(answer.body().find("65536") != std::string::npos);
}

TEST_CASE("an event that would pass the limit only with the server's members is refused too") {
  const Running running;
  Event event = note("Just too long.");
  for (int i = 0; i < 7; ++i) event.unknown["extra_" + std::to_string(i)] = std::string(8'000, 'x');
  event.unknown["rest"] = "";
  event.unknown["rest"] = std::string(protocol::Limits::event_bytes - to_line(event).size(), 'x');
  REQUIRE(to_line(event).size() == protocol::Limits::event_bytes);
  check_problem(Http(running.port()).post(to_line(event)), 400);
}

TEST_CASE("a request that is wrong is told how") {
  const Running running;
  const std::string event = to_line(note("x"));
  SECTION("another path") {
    check_problem(Http(running.port()).get("/event"), 404);
  }
  SECTION("another method") {
    const auto answer = Http(running.port()).send(http::verb::delete_, "/events");
    check_problem(answer, 405);
    CHECK(answer[http::field::allow] == "GET, HEAD, POST");
  }
  SECTION("posting where one can only read") {
    check_problem(Http(running.port()).send(http::verb::post, "/health", "{}"), 405);
  }
  SECTION("a form instead of JSON") {
    check_problem(Http(running.port()).post(event, "application/x-www-form-urlencoded"), 415);
  }
  SECTION("a number that is none") {
    check_problem(Http(running.port()).get("/events?after=-1"), 400);
    check_problem(Http(running.port()).get("/events?after=seven"), 400);
    check_problem(Http(running.port()).get("/events?after=18446744073709551616"), 400);
  }
  SECTION("a body over the limit") {
    check_problem(Http(running.port()).post(std::string(4 * 1024 * 1024 + 1, ' ')), 413);
  }
  SECTION("more events than one post may hold") {
    std::string many = "[0";
    for (int i = 0; i < 1'000; ++i) many += ",0";
    check_problem(Http(running.port()).post(many + "]"), 413);
  }
  SECTION("a header over the limit") {
    check_problem(
        Http(running.port())
            .send(http::verb::get, "/health", {}, {}, {{"X-Long", std::string(20'000, 'x')}}),
        431);
  }
  SECTION("/live without an upgrade") {
    const auto answer = Http(running.port()).get("/live?after=0");
    check_problem(answer, 426);
    CHECK(answer[http::field::upgrade] == "websocket");
  }
  SECTION("a page of another site") {
    check_problem(Http(running.port())
                      .send(http::verb::post, "/events", event, "application/json",
                            {{"Origin", "http://elsewhere.example"}}),
                  403);
  }
  CHECK(events_at(running.port()).empty());
}

TEST_CASE("a request of a page that the server itself served is taken") {
  const Running running;
  CHECK(Http(running.port())
            .send(http::verb::post, "/events", to_line(note("x")), "application/json",
                  {{"Origin", "http://127.0.0.1"}})
            .result_int() == 200);
}

TEST_CASE("bytes that are no HTTP, and half a request, end their own connection only") {
  const Running running;
  Http half(running.port());
  boost::asio::write(
      half.socket(),
      boost::asio::buffer(std::string("POST /events HTTP/1.1\r\nHost: a\r\nContent-Le")));
  Http cut(running.port());
  boost::asio::write(cut.socket(), boost::asio::buffer(std::string(
                                       "POST /events HTTP/1.1\r\nHost: a\r\nContent-Type: "
                                       "application/json\r\nContent-Length: 500\r\n\r\n{\"id\"")));
  cut.socket().close();
  Http garbage(running.port());
  boost::asio::write(
      garbage.socket(),
      boost::asio::buffer(std::string("\x16\x03\x01\x02\x00\x01\x00\xff\xff\r\n\r\n")));
  boost::beast::flat_buffer buffer;
  http::response<http::string_body> answer;
  http::read(garbage.socket(), buffer, answer);
  CHECK(answer.result_int() == 400);
  CHECK_FALSE(answer.keep_alive());

  CHECK(Http(running.port()).post(to_line(note("Served all the same."))).result_int() == 200);
}

TEST_CASE("a request whose header does not arrive in time ends its connection") {
  ServerOptions options;
  options.timing.header = std::chrono::seconds(1);
  const Running running(std::move(options));
  Http slow(running.port());
  boost::asio::write(slow.socket(), boost::asio::buffer(std::string("GET /health HT")));
  boost::system::error_code error;
  char byte = 0;
  CHECK(slow.socket().read_some(boost::asio::buffer(&byte, 1), error) == 0);
  CHECK(error == boost::asio::error::eof);
}

TEST_CASE("many requests go over one connection, HEAD among them") {
  const Running running;
  Http http(running.port());
  for (int i = 0; i < 20; ++i) CHECK(http.post(to_line(look(i, 0))).result_int() == 200);
  const auto head = http.send(http::verb::head, "/events");
  CHECK(head.result_int() == 200);
  CHECK(head.body().empty());
  CHECK(http.send(http::verb::head, "/health").result_int() == 200);
  CHECK(http.get("/health").result_int() == 200);
  CHECK(events_at(running.port(), 15).size() == 5);
}

TEST_CASE("stored events come as JSON Lines in chunks, as many as there are") {
  const Running running;
  Http http(running.port());
  std::vector<Event> events;
  for (int i = 0; i < 600; ++i) events.push_back(note(std::string(1'500, 'x')));
  for (std::size_t i = 0; i < events.size(); i += 200) {
    REQUIRE(http.post(lines_of({events.begin() + static_cast<std::ptrdiff_t>(i),
                                events.begin() + static_cast<std::ptrdiff_t>(i + 200)}),
                      "application/x-ndjson")
                .result_int() == 200);
  }
  const auto answer = http.get("/events?after=0");
  CHECK(answer.chunked());
  CHECK(answer[http::field::content_type] == "application/x-ndjson");
  CHECK(answer.body().back() == '\n');
  const auto stored = events_at(running.port());
  REQUIRE(stored.size() == 600);
  for (std::size_t i = 0; i < 600; ++i) CHECK(stored[i].seq == i + 1);
  CHECK(events_at(running.port(), 600).empty());
  CHECK(events_at(running.port(), 99'999).empty());
}

TEST_CASE("what was said is found over HTTP") {
  const Running running;
  Http http(running.port());
  http.post(lines_of({note("Red scoria here."), note("Only basalt."), look(1, 1)}),
            "application/x-ndjson");
  CHECK(http.get("/events?said=scoria%20red").body().find("\"seq\":1") != std::string::npos);
  CHECK(http.get("/events?said=gneiss").body().empty());
}

TEST_CASE("health tells whether posts are taken") {
  const Running running;
  Http(running.port()).post(to_line(note("x")));
  const Json health = body_of(Http(running.port()).get("/health"));
  CHECK(health.at("status") == "ok");
  CHECK(health.at("newest") == 1);
}

TEST_CASE("metrics are OpenMetrics text") {
  // OpenMetrics 1.0: TYPE before the samples, counters end in _total, the text ends in "# EOF" and
  // a line feed.
  const Running running;
  Http http(running.port());
  http.post(lines_of({note("x"), note("y")}), "application/x-ndjson");
  const auto answer = http.get("/metrics");
  CHECK(answer[http::field::content_type] ==
        "application/openmetrics-text; version=1.0.0; charset=utf-8");
  CHECK(answer.body().find("# TYPE stonecall_events_stored counter\n") != std::string::npos);
  CHECK(answer.body().find("\nstonecall_events_stored_total 2\n") != std::string::npos);
  CHECK(answer.body().find("\nstonecall_http_answers_total{class=\"2xx\"} 1\n") !=
        std::string::npos);
  CHECK(answer.body().substr(answer.body().size() - 7) == "\n# EOF\n");
}

TEST_CASE("connections past the limit are closed, and those within it are served") {
  ServerOptions options;
  options.connections = 3;
  const Running running(std::move(options));
  std::vector<std::unique_ptr<Http>> open;
  for (int i = 0; i < 3; ++i) {
    open.push_back(std::make_unique<Http>(running.port()));
    CHECK(open.back()->get("/health").result_int() == 200);
  }
  Http one_more(running.port());
  CHECK_THROWS(one_more.get("/health"));
  CHECK(open.front()->get("/health").result_int() == 200);
}

TEST_CASE("connections that ask for nothing keep nobody out, and those that have asked stay") {
  ServerOptions options;
  options.connections = 3;
  const Running running(std::move(options));
  Http regular(running.port());
  CHECK(regular.get("/health").result_int() == 200);
  boost::asio::io_context io;
  std::vector<Tcp::socket> silent;
  for (int i = 0; i < 10; ++i) {
    silent.emplace_back(io).connect({boost::asio::ip::address_v4::loopback(), running.port()});
    if (i % 2 == 0) boost::asio::write(silent.back(), boost::asio::buffer("\x16\x03 noise", 8));
    if (i == 4) CHECK(regular.get("/health").result_int() == 200);
  }
  CHECK(Http(running.port()).get("/health").result_int() == 200);
  CHECK(regular.get("/health").result_int() == 200);
}

TEST_CASE("an address that asks too often is told when to come again, and then served") {
  using namespace std::chrono_literals;
  const auto ann = boost::asio::ip::make_address("192.0.2.1");  // RFC 5737: for documentation
  const auto ben = boost::asio::ip::make_address("192.0.2.2");
  const RateLimit::Clock::time_point now{};
  RateLimit limit(2);
  for (int i = 0; i < 4; ++i) CHECK(limit.take(ann, now).count() == 0);
  CHECK(limit.take(ann, now) == 500ms);
  CHECK(limit.take(ben, now).count() == 0);
  CHECK(limit.take(ann, now + 499ms).count() > 0);
  CHECK(limit.take(ann, now + 501ms).count() == 0);
  CHECK(limit.take(ann, now + 501ms).count() > 0);
  RateLimit none(0);
  for (int i = 0; i < 100; ++i) CHECK(none.take(ann, now).count() == 0);

  ServerOptions options;
  options.requests_per_second = 0.01;
  const Running running(std::move(options));
  Http http(running.port());
  CHECK(http.get("/health").result_int() == 200);
  const auto refused = http.get("/health");
  check_problem(refused, 429);
  CHECK(std::stoi(std::string(refused[http::field::retry_after])) > 0);
  CHECK(http.post(to_line(note("x"))).result_int() == 429);
}

TEST_CASE("each role may do what it is there for and no more") {
  ServerOptions options;
  options.access = Access::parse(
                       "# the day's tokens\n"
                       "field    field-token-for-the-ridge\n"
                       "adviser  adviser-token-for-the-ridge\n\n"
                       "observer observer-token-for-the-ridge\n")
                       .value();
  const Running running(std::move(options));
  const auto posting = [&](const std::string& token, const Event& event) {
    return Http(running.port())
        .send(http::verb::post, "/events", to_line(event), "application/json",
              {{"Authorization", "Bearer " + token}})
        .result_int();
  };
  Event call = note("");
  call.body = protocol::Call{"Move on.", {}, {}, {}, {}, {}, {}, {}, {}, {}};
  Event heard = note("");
  heard.body = protocol::CallAnswer{call.id, protocol::Answered::heard, {}};
  CHECK(posting("field-token-for-the-ridge", note("x")) == 200);
  CHECK(posting("field-token-for-the-ridge", call) == 400);
  CHECK(posting("adviser-token-for-the-ridge", call) == 200);
  CHECK(posting("adviser-token-for-the-ridge", heard) == 200);
  CHECK(posting("field-token-for-the-ridge", heard) == 200);
  CHECK(posting("observer-token-for-the-ridge", note("x")) == 403);
  CHECK(posting("no-token-of-this-server", note("x")) == 401);
  CHECK(posting("", note("x")) == 401);

  const auto reading = [&](const std::string& token) {
    return Http(running.port())
        .send(http::verb::get, "/events", {}, {}, {{"Authorization", "bearer " + token}})
        .result_int();
  };
  CHECK(reading("observer-token-for-the-ridge") == 200);
  CHECK(reading("field-token-for-the-ridge") == 200);
  CHECK(reading("field-token-for-the-ridg") == 401);
  const auto nobody = Http(running.port()).get("/events");
  check_problem(nobody, 401);
  CHECK(nobody[http::field::www_authenticate].starts_with("Bearer"));
  CHECK(Http(running.port()).get("/health").result_int() == 200);

  const auto pausing = [&](const std::string& token) {
    return Http(running.port())
        .send(http::verb::post, "/play", R"({"paused":true})", "application/json",
              {{"Authorization", "Bearer " + token}})
        .result_int();
  };
  CHECK(pausing("observer-token-for-the-ridge") == 403);
  CHECK(pausing("field-token-for-the-ridge") == 403);
  CHECK(pausing("adviser-token-for-the-ridge") == 404);  // let in, but no log is played
  CHECK(pausing("") == 401);

  CHECK_THROWS(Live(running.port(), 0));
  Live observer(running.port(), 0, "observer-token-for-the-ridge");
  const Json results = observer.post(to_line(note("y")));
  CHECK(results.at("results").at(0).contains("refused"));
}

TEST_CASE("over HTTP and WebSocket each role posts the kinds it may, and no other") {
  ServerOptions options;
  options.access = Access::parse(
                       "field    field-token-for-the-ridge\n"
                       "adviser  adviser-token-for-the-ridge\n"
                       "observer observer-token-for-the-ridge\n")
                       .value();
  const Running running(std::move(options));
  const auto role = GENERATE(Role::field, Role::adviser, Role::observer);
  CAPTURE(to_string(role));
  const std::string token = std::string(to_string(role)) + "-token-for-the-ridge";
  Live live(running.port(), {}, token);
  std::size_t stored = 0;
  for (Event event : test::one_of_each()) {
    const bool may = may_post(role, kind_of(event));
    CAPTURE(kind_of(event), may);
    event.id = protocol::random_uuid();
    const auto answer = Http(running.port())
                            .send(http::verb::post, "/events", to_line(event), "application/json",
                                  {{"Authorization", "Bearer " + token}});
    CHECK(answer.result_int() == (may ? 200 : role == Role::observer ? 403 : 400));
    event.id = protocol::random_uuid();
    CHECK(live.post(to_line(event)).at("results").at(0).contains("refused") != may);
    if (may) stored += 2;
  }
  CHECK(running.server->store().newest() == stored);
}

TEST_CASE("who may not post a kind may not change or take back what others posted of it") {
  ServerOptions options;
  options.access = Access::parse(
                       "field    field-token-for-the-ridge\n"
                       "adviser  adviser-token-for-the-ridge\n")
                       .value();
  const Running running(std::move(options));
  Live field(running.port(), {}, "field-token-for-the-ridge");
  Live adviser(running.port(), {}, "adviser-token-for-the-ridge");
  const auto refused = [](Live& live, const Event& event) {
    return live.post(to_line(event)).at("results").at(0).value("refused", "");
  };
  const auto change = [](protocol::Body body) {
    Event event = note("");
    event.body = std::move(body);
    return event;
  };
  const auto retract = [&](const Event& of) { return change(protocol::Retract{of.id, {}}); };
  for (Event event : test::one_of_each()) {
    CAPTURE(kind_of(event));
    if (protocol::changed_by(event) || !may_post(Role::adviser, kind_of(event))) continue;
    event.id = protocol::random_uuid();
    REQUIRE(refused(adviser, event).empty());
    const bool may = may_post(Role::field, kind_of(event));
    const std::string kind(kind_of(event));
    const std::string why = may ? "" : "\"target\": field may not retract a " + kind;
    CHECK(refused(field, retract(event)) == why);
    const Event amend = change(protocol::Amend{event.id, Json{{"at", "2027-05-18T09:30:00Z"}}, {}});
    CHECK(refused(field, amend).empty() == may);

    // What an adviser took back the field may not bring back by taking that back.
    const Event taken_back = retract(event);
    REQUIRE(refused(adviser, taken_back).empty());
    CHECK(refused(field, retract(taken_back)).empty() == may);
    CHECK(refused(adviser, retract(taken_back)).empty());
  }
  // Within one post, and of what is not there yet.
  const Event own = note("Basalt."), unmade = retract(note("later"));
  const Json results =
      field.post("[" + to_line(own) + "," + to_line(retract(own)) + "," + to_line(unmade) + "]");
  for (const Json& result : results.at("results")) CHECK(result.contains("seq"));
}

TEST_CASE("without a token nothing is told but health, and nothing given but the field page") {
  ServerOptions options;
  options.access = Access::parse("observer observer-token-for-the-ridge\n").value();
  const Running running(std::move(options));
  for (const char* target :
       {"/events", "/events?after=0", "/events?said=x", "/live", "/metrics", "/play"}) {
    CAPTURE(target);
    check_problem(Http(running.port()).get(target), 401);
    CHECK(Http(running.port()).send(http::verb::head, target).result_int() == 401);
  }
  for (const char* target : {"/health", "/field", "/field-worker.js"}) {
    CAPTURE(target);
    CHECK(Http(running.port()).get(target).result_int() == 200);
  }
  for (const char* authorization :
       {"", "Bearer", "Bearer ", "Basic b2JzZXJ2ZXI6", "observer-token-for-the-ridge",
        "Bearer observer-token-for-the-ridge x", "Bearer observer-token-for-the-ridgf",
        "Bearer bearer observer-token-for-the-ridge"}) {
    CAPTURE(authorization);
    CHECK(Http(running.port())
              .send(http::verb::get, "/events", {}, {}, {{"Authorization", authorization}})
              .result_int() == 401);
  }
}

TEST_CASE("each kind of event may be posted by the roles it is for, and by no other") {
  // SERVER.md, "Roles".
  for (const std::string_view kind :
       {"plan", "voice_note", "arrival", "departure", "sample", "photo", "sighting", "tally",
        "share", "reading", "call", "call_answer", "question", "answer", "remark", "amend",
        "retract", "something_newer"}) {
    CAPTURE(kind);
    CHECK(may_post(Role::field, kind) == (kind != "plan" && kind != "reading" && kind != "call"));
    CHECK(may_post(Role::adviser, kind));
    CHECK_FALSE(may_post(Role::observer, kind));
    CHECK(may_post(Role::anyone, kind));
  }
  for (const Role role : {Role::field, Role::adviser, Role::observer, Role::anyone})
    CHECK_FALSE(may_post(role, "damaged"));
}

TEST_CASE("without tokens a server that is asked under a name of the network gives nothing") {
  // A page elsewhere could point its own name at 127.0.0.1 and would then be of the same site.
  const Running running;
  const auto asked_as = [&](const std::string& host, const std::string& target) {
    return Http(running.port())
        .send(http::verb::get, target, {}, {}, {{"Host", host}})
        .result_int();
  };
  for (const char* host :
       {"localhost", "localhost:7700", "127.0.0.1", "127.0.0.1:7700", "[::1]:7700", "LOCALHOST:1"})
    CHECK(asked_as(host, "/events") == 200);
  for (const char* host : {"elsewhere.example", "elsewhere.example:7700", "127.0.0.1.example",
                           "localhost.example:7700", "192.0.2.7", "[2001:db8::1]:7700"}) {
    CAPTURE(host);
    CHECK(asked_as(host, "/events") == 403);
    CHECK(asked_as(host, "/live") == 403);
  }
}

TEST_CASE("no answer may be framed, guessed at or kept, and a page may do only what is its own") {
  const Running running;
  Http http(running.port());
  for (const char* target : {"/events", "/field", "/field-worker.js", "/health", "/nothing"}) {
    CAPTURE(target);
    const auto answer = http.get(target);
    CHECK(answer["X-Content-Type-Options"] == "nosniff");
    CHECK(answer[http::field::cache_control] == "no-store");
    CHECK(answer["Referrer-Policy"] == "no-referrer");
    const std::string policy(answer["Content-Security-Policy"]);
    CHECK(policy.starts_with("default-src 'none';"));
    CHECK(policy.find("frame-ancestors 'none'") != std::string::npos);
    CHECK(policy.find("unsafe") == std::string::npos);
  }
  const auto page = http.get("/field");
  CHECK(page[http::field::content_type] == "text/html; charset=utf-8");
  CHECK(page.body().find("http://") == std::string::npos);
  CHECK(page.body().find("https://") == std::string::npos);
  CHECK(std::string(page["Content-Security-Policy"]).find("script-src 'sha256-") !=
        std::string::npos);
}

TEST_CASE("a token file that cannot be right names its line") {
  CHECK(Access::parse("").error().what.find("no token") != std::string::npos);
  CHECK(Access::parse("field a-token-that-is-long\nboss another-long-token-here\n").error().line ==
        2);
  CHECK(Access::parse("field short\n").error().line == 1);
  CHECK(Access::parse("field\n").error().line == 1);
  // What stood behind it would be part of it, and the role's own token none.
  CHECK(Access::parse("field a-token-that-is-long # of the ridge\n").error().line == 1);
  // Who has it would be now the one, now the other.
  const auto twice =
      Access::parse("field a-token-that-is-long\nadviser a-token-that-is-long\n").error();
  CHECK(twice.line == 2);
  CHECK(twice.what.find("that of field already") != std::string::npos);
}

TEST_CASE("a token file may begin with a byte order mark and name a token again") {
  const auto access = Access::parse(
      "\xEF\xBB\xBF"
      "field a-token-that-is-long\r\nfield a-token-that-is-long\r\n");
  REQUIRE(access);
  CHECK(access->role_of("Bearer a-token-that-is-long") == Role::field);
}

TEST_CASE("without tokens only a loopback address is listened on") {
  const Folder folder;
  ServerOptions options;
  options.store = folder / "store";
  options.address = "0.0.0.0";
  const auto server = Server::start(std::move(options));
  REQUIRE_FALSE(server);
  CHECK(server.error().find("loopback") != std::string::npos);
}

TEST_CASE("an address that is taken is a sentence, not a crash") {
  const Running running;
  const Folder folder;
  ServerOptions options;
  options.store = folder / "store";
  options.port = running.port();
  const auto server = Server::start(std::move(options));
  REQUIRE_FALSE(server);
  CHECK(server.error().find("cannot listen") != std::string::npos);
}

}  // namespace
}  // namespace stonecall::server
