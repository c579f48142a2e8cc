#include <csignal>
#include <cstdlib>
#include <fstream>
#include <map>
#include <random>
#include <thread>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>
#include <unistd.h>

#include "server/log_check.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"

// The program as it is installed, in a process of its own that can be killed, starved and locked
// out.
namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using protocol::to_line;

std::string store_in(const Folder& folder) {
  return "--store " + (folder / "store").string();
}

int kills_wanted() {
  const char* wanted = std::getenv("STONECALL_KILLS");
  return wanted ? std::atoi(wanted) : 20;
}

/// Posts until the server dies, one event after the other, each again until it is acknowledged:
/// what a sender does.
struct Sender {
  std::map<protocol::Uuid, Sequence> acknowledged;
  std::optional<Event> open;  ///< sent, and not known to be stored

  void run(std::uint16_t port, int name) {
    try {
      Live live(port);
      for (int i = 0;; ++i) {
        if (!open) open = i % 3 == 0 ? note("Note " + std::to_string(i)) : look(name, i);
        const Json results = live.post(to_line(*open)).at("results");
        if (results.empty()) return;
        const auto seq = results.at(0).at("seq").get<Sequence>();
        const auto [where, fresh] = acknowledged.emplace(open->id, seq);
        if (!fresh && where->second != seq)
          throw std::runtime_error("acknowledged with two numbers");
        open.reset();
      }
    } catch (const boost::system::system_error&) {
      // killed, as planned
    }
  }
};

TEST_CASE("a server killed at any moment has lost nothing it acknowledged and repeats nothing") {
  const Folder folder;
  std::mt19937 random(7);
  std::vector<Sender> senders(4);
  const int kills = kills_wanted();
  for (int kill = 0; kill < kills; ++kill) {
    Program program(store_in(folder));
    REQUIRE(program.port() != 0);
    std::vector<std::thread> threads;
    for (std::size_t s = 0; s < senders.size(); ++s) {
      threads.emplace_back([&, s] { senders[s].run(program.port(), static_cast<int>(s)); });
    }
    // The moment of the kill is what varies; nothing below depends on how far the senders came.
    std::this_thread::sleep_for(
        std::chrono::microseconds(std::uniform_int_distribution(0, 60'000)(random)));
    program.signal(SIGKILL);
    program.wait();
    for (auto& thread : threads) thread.join();
    REQUIRE(check_log(folder / "store-wal").passed_over <= 1);  // no false alarm
  }

  Program program(store_in(folder));
  std::map<protocol::Uuid, Sequence> stored;
  Sequence expected = 0;
  for (const Event& event : events_at(program.port())) {
    REQUIRE(event.seq == ++expected);
    REQUIRE(stored.emplace(event.id, *event.seq).second);
  }
  std::size_t acknowledged = 0;
  for (const Sender& sender : senders) {
    for (const auto& [id, seq] : sender.acknowledged) {
      REQUIRE(stored.count(id) == 1);
      REQUIRE(stored.at(id) == seq);
      ++acknowledged;
    }
  }
  CHECK(acknowledged > 0);
  // Beyond those there is at most what each sender had on its way at each kill.
  CHECK(stored.size() <= acknowledged + senders.size());
}

TEST_CASE("asked to end, the program finishes, ends with 0 and leaves a closed store") {
  const Folder folder;
  const int number = GENERATE(SIGTERM, SIGINT);
  Program program(store_in(folder));
  Http idle(program.port());
  Live desk(program.port(), 0);
  desk.post(to_line(note("Last word.")));
  program.signal(number);
  CHECK_THROWS([&] {
    for (;;) desk.read();
  }());
  CHECK(program.wait() == 0);
  CHECK_FALSE(std::filesystem::exists(folder / "store-wal"));
  SQLite::Database db((folder / "store").string());
  CHECK(db.execAndGet("SELECT count(*) FROM events").getInt() == 1);
}

TEST_CASE(
    "a file that may not grow is answered 507, reads go on, and posts are taken again once there "
    "is room") {
  const Folder folder;
  std::size_t kept = 0;
  // A file-size limit, in blocks of 512 bytes: to the program the same as a disk that is full.
  Program program(store_in(folder), "ulimit -S -f 400; exec");
  Http http(program.port());
  HttpAnswer answer;
  const auto too_much = [] { return to_line(note(std::string(4'000, 'x'))); };
  for (int i = 0; i < 1'000; ++i) {
    answer = http.post(too_much());
    if (answer.result_int() != 200) break;
    ++kept;
  }
  CHECK(answer.result_int() == 507);
  CHECK(Json::parse(answer.body()).at("store") == "full");
  CHECK(kept > 2);
  CHECK(events_at(program.port()).size() == kept);
  const auto health = http.get("/health");
  CHECK(health.result_int() == 503);
  CHECK(Json::parse(health.body()).at("status") == "full");
  Live desk(program.port(), 0);
  CHECK(desk.events(kept).size() == kept);
  CHECK(desk.post(too_much()).at("problem").at("status") == 507);

  program.let_files_grow();
  CHECK(http.post(to_line(note("Room again."))).result_int() == 200);
  CHECK(http.get("/health").result_int() == 200);
  CHECK(desk.events(1).front().seq == kept + 1);
  CHECK(events_at(program.port()).size() == kept + 1);
}

TEST_CASE("a server begun on a full disk reads, and takes posts once there is room") {
  const Folder folder;
  {
    Program program(store_in(folder));
    REQUIRE(Http(program.port()).post(to_line(note("Kept."))).result_int() == 200);
    program.signal(SIGTERM);
    REQUIRE(program.wait() == 0);
  }
  Program program(store_in(folder), "ulimit -S -f 1; exec");
  REQUIRE(program.port() != 0);
  Http http(program.port());
  CHECK(http.post(to_line(note("No room."))).result_int() >= 500);
  CHECK(http.get("/health").result_int() == 503);
  Live desk(program.port(), 0);
  CHECK(desk.events(1).front().seq == 1);

  program.let_files_grow();
  const std::string again = to_line(note("Room."));
  while (http.post(again).result_int() != 200)
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  CHECK(http.get("/health").result_int() == 200);
  CHECK(desk.events(1).front().seq == 2);
  CHECK(events_at(program.port()).size() == 2);
}

TEST_CASE("a store that may not be written is served for reading, and posts are answered 503") {
  const Folder folder;
  {
    Program program(store_in(folder));
    REQUIRE(Http(program.port()).post(to_line(note("Kept."))).result_int() == 200);
    program.signal(SIGTERM);
    REQUIRE(program.wait() == 0);
  }
  namespace fs = std::filesystem;
  fs::permissions(folder / "store",
                  fs::perms::owner_read | fs::perms::group_read | fs::perms::others_read);
  fs::permissions(folder.path(), fs::perms::owner_read | fs::perms::owner_exec |
                                     fs::perms::others_read | fs::perms::others_exec);
  // Root may write whatever the permissions say; so give that up, with a program that nobody may
  // run.
  const bool root = ::geteuid() == 0;
  const Folder bin;
  const auto file = bin / "stonecall-server";
  fs::copy_file(STONECALL_SERVER, file);
  fs::permissions(bin.path(),
                  fs::perms::owner_all | fs::perms::others_read | fs::perms::others_exec);
  Program program(store_in(folder),
                  root ? "exec setpriv --reuid=65534 --regid=65534 --clear-groups" : "exec",
                  file.string());
  REQUIRE(program.port() != 0);
  CHECK(events_at(program.port()).size() == 1);
  const auto answer = Http(program.port()).post(to_line(note("Refused.")));
  CHECK(answer.result_int() == 503);
  CHECK(Json::parse(answer.body()).at("store") == "read_only");
  fs::permissions(folder.path(), fs::perms::owner_all);
}

TEST_CASE("a store of a newer version is served for reading, and posts are answered 503") {
  const Folder folder;
  {
    Program program(store_in(folder));
    REQUIRE(Http(program.port()).post(to_line(note("Kept."))).result_int() == 200);
    program.signal(SIGTERM);
    REQUIRE(program.wait() == 0);
  }
  {
    SQLite::Database((folder / "store").string(), SQLite::OPEN_READWRITE)
        .exec("PRAGMA user_version=9");
  }
  Program program(store_in(folder));
  CHECK(events_at(program.port()).size() == 1);
  const auto answer = Http(program.port()).post(to_line(note("Refused.")));
  CHECK(answer.result_int() == 503);
  CHECK(answer.body().find("version 9") != std::string::npos);
}

TEST_CASE("a wrong command line ends with a sentence and an exit code, not with a server") {
  const Folder folder;
  std::ofstream(folder / "empty.jsonl").flush();
  std::ofstream(folder / "text") << std::string(5'000, 'x');
  for (const std::string& arguments :
       {"--store " + (folder / "none" / "store").string(), "--store " + (folder / "text").string(),
        store_in(folder) + " --listen here", store_in(folder) + " --listen 0.0.0.0:0",
        store_in(folder) + " --play " + (folder / "none.jsonl").string(),
        store_in(folder) + " --play " + (folder / "empty.jsonl").string(),
        store_in(folder) + " --speed 3",
        store_in(folder) + " --tokens " + (folder / "text").string()}) {
    CAPTURE(arguments);
    Program program(arguments);
    CHECK(program.port() == 0);
    CHECK(program.wait() != 0);
  }
  Program folder_of_tokens(store_in(folder) + " --tokens " + folder.path().string());
  CHECK(folder_of_tokens.wait() == 2);  // by a sentence, not by a signal
}

TEST_CASE("an option whose variable was not set is not taken for one that was not given") {
  const Folder folder;
  for (const char* option : {"--tokens", "--backup-to", "--export-to", "--import-from", "--play"}) {
    CAPTURE(option);
    CHECK(Program(store_in(folder) + " " + option + " ''").port() == 0);
  }
  CHECK(Program("--store ''").port() == 0);
}

/// A log of a short exercise in which one event is heard late.
std::vector<Event> recorded() {
  std::vector<Event> events{note("Leaving the hut.", "2027-05-18T09:00:00.000+02:00"),
                            note("At the rim.", "2027-05-18T09:10:00.000+02:00"),
                            note("Heard late.", "2027-05-18T09:05:00.000+02:00"),
                            note("Back.", "2027-05-18T09:30:00.000+02:00")};
  const char* received[] = {"2027-05-18T09:00:02.000+02:00", "2027-05-18T09:10:02.500+02:00",
                            "2027-05-18T09:10:09.000+02:00", "2027-05-18T09:30:01.000+02:00"};
  for (std::size_t i = 0; i < events.size(); ++i) {
    events[i].seq = i + 1;
    events[i].received = time_of(received[i]);
  }
  return events;
}

std::string play(const Folder& folder, const std::vector<Event>& events) {
  std::ofstream(folder / "log.jsonl") << lines_of(events);
  return store_in(folder) + " --play " + (folder / "log.jsonl").string();
}

TEST_CASE("a log that was played whole leaves the same log in the store") {
  const Folder folder;
  const auto events = recorded();
  Program program(play(folder, events) + " --speed 100000");
  Live desk(program.port(), 0);
  CHECK(lines_of(desk.events(4)) == lines_of(events));
  CHECK(Http(program.port()).get("/events").body() == lines_of(events));
}

TEST_CASE("playing starts where it is told; what came before is there at once") {
  const Folder folder;
  const auto events = recorded();
  Program program(play(folder, events) + " --speed 0.01 --play-from 0:10:05");
  Live desk(program.port(), 0);
  CHECK(desk.events(2).back().seq == 2);
  CHECK(desk.read("caught_up").at("seq") == 2);
  const Json heartbeat = desk.read("heartbeat");
  CHECK(heartbeat.at("time").get<std::string>().starts_with("2027-05-18T09:10:0"));
  CHECK(heartbeat.at("speed") == 0.01);
}

TEST_CASE("a player that waits starts with the first desk, and its clock stands until then") {
  const Folder folder;
  const auto events = recorded();
  Program program(play(folder, events) + " --speed 100000 --play-wait");
  Http http(program.port());
  const Json before = Json::parse(http.get("/health").body());
  CHECK(before.at("newest").get<Sequence>() <= 1);
  CHECK(before.at("time") == "2027-05-18T09:00:02.000+02:00");
  CHECK(before.at("speed") == 0);
  Live desk(program.port(), 0);
  CHECK(desk.events(4).size() == 4);
}

TEST_CASE("what a desk posts while a log is played is received by the clock of the log") {
  const Folder folder;
  Program program(play(folder, recorded()) + " --speed 0.01");
  Event call = note("", "2027-05-18T09:00:03.000+02:00");
  call.body = protocol::Call{"Stay.", {}, {}, {}, {}, {}, {}, {}, {}, {}};
  REQUIRE(Http(program.port()).post(to_line(call)).result_int() == 200);
  for (const Event& event : events_at(program.port())) {
    if (event.id != call.id) continue;
    CHECK(to_string(*event.received).starts_with("2027-05-18T09:00:0"));
    CHECK_FALSE(event.unknown.contains("clock_off"));
  }
}

Json played(Http& http, const std::string& asked) {
  const auto answer =
      asked.empty() ? http.get("/play") : http.send(http::verb::post, "/play", asked);
  Json json = Json::parse(answer.body());
  json["status"] = answer.result_int();
  return json;
}

TEST_CASE("a log that is played can be paused, and its clock stands meanwhile") {
  const Folder folder;
  Program program(play(folder, recorded()) + " --speed 0.01");
  Http http(program.port());
  CHECK(played(http, "").at("paused") == false);
  const Json paused = played(http, R"({"paused": true})");
  CHECK(paused.at("paused") == true);
  CHECK(paused.at("events") == 4);
  const Json before = Json::parse(http.get("/health").body());
  CHECK(before.at("speed") == 0);
  CHECK(Json::parse(http.get("/health").body()).at("time") == before.at("time"));
  CHECK(played(http, R"({"paused": false, "speed": 2})").at("speed") == 2);
  CHECK(Json::parse(http.get("/health").body()).at("speed") == 2);
}

TEST_CASE("a clock that goes on behind the log's last event can be paused until it is there") {
  const Folder folder;
  Program program(play(folder, recorded()) + " --speed 2 --play-from 1:30 --play-until 3:00");
  Http http(program.port());
  while (played(http, "").at("played") != 4) std::this_thread::yield();
  CHECK(played(http, R"({"paused": true})").at("status") == 200);
  const Json before = Json::parse(http.get("/health").body());
  CHECK(before.at("speed") == 0);
  CHECK(Json::parse(http.get("/health").body()).at("time") == before.at("time"));
  CHECK(played(http, R"({"to": "2:59:59"})").at("status") == 200);
  CHECK(played(http, R"({"paused": false, "speed": 100000})").at("status") == 200);
  while (played(http, "").at("elapsed") < "3:00:00") std::this_thread::yield();
  CHECK(played(http, R"({"paused": true})").at("status") == 409);
  CHECK(Json::parse(http.get("/health").body()).at("speed") == 1);
}

TEST_CASE("a leap ahead stores what lies between, and those who follow and who come late have it") {
  const Folder folder;
  const auto events = recorded();
  Program program(play(folder, events) + " --speed 0.01 --play-from 0:00:01");
  Http http(program.port());
  Live desk(program.port(), 0);
  CHECK(played(http, R"({"paused": true, "to": "0:10:05"})").at("status") == 200);
  CHECK(desk.events(2).back().seq == 2);
  Live late(program.port(), 0);
  CHECK(late.events(2).back().seq == 2);
  CHECK(late.read("caught_up").at("seq") == 2);
  while (played(http, "").at("elapsed") != "0:10:05") std::this_thread::yield();
  CHECK(played(http, "").at("played") == 2);

  const Json back = played(http, R"({"to": "0:09:00"})");
  CHECK(back.at("status") == 409);
  CHECK(back.at("detail").get<std::string>().find("0:10:05") != std::string::npos);

  CHECK(played(http, R"({"to": "99:00:00"})").at("status") == 200);
  CHECK(lines_of(late.events(2)).find(to_string(events.back().id)) != std::string::npos);
  while (played(http, "").at("played") != 4) std::this_thread::yield();
  CHECK(played(http, R"({"paused": true})").at("status") == 409);
  // To the end and no further: from a clock four days ahead there is no way back.
  CHECK(played(http, "").at("elapsed").get<std::string>().starts_with("0:30:"));
}

TEST_CASE("what is asked of the playing is read strictly, and only of a log that is played") {
  const Folder folder;
  Program program(play(folder, recorded()) + " --speed 0.01");
  Http http(program.port());
  for (const char* wrong :
       {"", "[]", "{}", "{", R"({"paused": 1})", R"({"speed": 0})", R"({"speed": -1})",
        R"({"speed": 1e9})", R"({"to": "soon"})", R"({"to": -1})", R"({"stop": true})"}) {
    INFO(wrong);
    CHECK(http.send(http::verb::post, "/play", wrong).result_int() == 400);
  }
  Program plain(store_in(Folder()));
  CHECK(Http(plain.port()).get("/play").result_int() == 404);
}

TEST_CASE("a log played again into the same store adds nothing") {
  const Folder folder;
  const auto events = recorded();
  for (int round = 0; round < 2; ++round) {
    Program program(play(folder, events) + " --speed 100000");
    Live(program.port(), 0).events(4);
    program.signal(SIGTERM);
    CHECK(program.wait() == 0);
  }
  Program program(store_in(folder));
  CHECK(Http(program.port()).get("/events").body() == lines_of(events));
}

TEST_CASE("a log is played into no other exercise's store, from no time when it is over") {
  const Folder folder;
  {
    Program program(store_in(folder));
    REQUIRE(Http(program.port()).post(to_line(note("Of a real exercise."))).result_int() == 200);
  }
  Program mixed(play(folder, recorded()));
  CHECK(mixed.port() == 0);
  CHECK(mixed.wait() == 2);
  CHECK(events_at(Program(store_in(folder)).port()).size() == 1);

  const Folder other;
  Program over(play(other, recorded()) + " --play-from 0:30:02");
  CHECK(over.port() == 0);
  CHECK(Program(play(other, recorded()) + " --play-from 0:30:02 --play-until 1:00").port() != 0);
}

TEST_CASE("who is to practise on a log unseen is given no store that has it already") {
  const Folder folder;
  const std::string unseen = play(folder, recorded()) + " --speed 0.01 --play-unseen --play-from ";
  {
    Program begun(unseen + "0:10:05");
    REQUIRE(events_at(begun.port()).size() == 2);
  }
  CHECK(Program(unseen + "0:05").port() == 0);
  CHECK(Program(unseen + "0:10:03").port() != 0);  // goes on where it was
}

TEST_CASE("it is said from when an unseen log can go on, where there is such a time") {
  const Folder folder;
  ServerOptions options;
  options.store = folder / "store";
  for (const Event& event : recorded()) options.log.push_back(std::make_shared<Event>(event));
  options.play.unseen = true;
  options.play.from = std::chrono::minutes(20);
  REQUIRE(Server::start(options));
  options.play.from = std::chrono::minutes(5);
  CHECK(Server::start(options).error().find("--play-from 0:10:09 to go on") != std::string::npos);
  options.play.from = std::chrono::minutes(30) + std::chrono::seconds(1);
  REQUIRE(Server::start(options));
  options.play.from = std::chrono::minutes(5);
  CHECK(Server::start(options).error().find("--play-from") == std::string::npos);
}

std::string text_in(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return std::string(std::istreambuf_iterator<char>(in), {});
}

/// A run that ends by itself; its exit code.
int ran(const std::string& arguments) {
  return Program(arguments).wait();
}

TEST_CASE("a store is backed up while it is written, and the backup holds a whole beginning") {
  const Folder folder;
  Program program(store_in(folder));
  REQUIRE(Http(program.port()).post(to_line(note("First."))).result_int() == 200);
  Sender sender;
  std::thread posting([&] { sender.run(program.port(), 1); });
  for (int copy = 0; copy < 5; ++copy)
    REQUIRE(ran(store_in(folder) + " --backup-to " + (folder / std::to_string(copy)).string()) ==
            0);
  program.signal(SIGKILL);
  program.wait();
  posting.join();

  Program original(store_in(folder));
  const auto all = events_at(original.port());
  std::size_t last = 1;
  for (int copy = 0; copy < 5; ++copy) {
    Program backup("--store " + (folder / std::to_string(copy)).string());
    const auto events = events_at(backup.port());
    REQUIRE(events.size() >= last);
    REQUIRE(events.size() <= all.size());
    CHECK(lines_of(events) ==
          lines_of({all.begin(), all.begin() + static_cast<std::ptrdiff_t>(events.size())}));
    last = events.size();
    CHECK(Http(backup.port()).post(to_line(note("It can go on."))).result_int() == 200);
  }
}

TEST_CASE(
    "a log exported while the server runs is the log, and imported elsewhere it is the same") {
  const Folder folder;
  const auto log = (folder / "log.jsonl").string();
  Program program(store_in(folder));
  Http http(program.port());
  for (int i = 0; i < 3; ++i) {
    std::vector<Event> events;
    for (int k = 0; k < 400; ++k) events.push_back(k % 2 == 0 ? note("Basalt.") : look(i, k));
    REQUIRE(http.post(lines_of(events), "application/x-ndjson").result_int() == 200);
  }
  const std::string served = http.get("/events").body();
  REQUIRE(ran(store_in(folder) + " --export-to " + log) == 0);
  CHECK(text_in(log) == served);

  const std::string again = "--store " + (folder / "again").string();
  REQUIRE(ran(again + " --import-from " + log) == 0);
  REQUIRE(ran(again + " --import-from " + log) == 0);  // adds nothing
  REQUIRE(ran(again + " --export-to " + log + "2") == 0);
  CHECK(text_in(log + "2") == served);
  Program other(again);
  CHECK(Http(other.port()).get("/events").body() == served);
  CHECK_FALSE(Http(other.port()).get("/events?said=basalt").body().empty());
}

TEST_CASE("a backup or export that cannot be made says so and leaves nothing behind") {
  const Folder folder;
  REQUIRE(ran(store_in(folder) + " --import-from " + (folder / "none.jsonl").string()) != 0);
  {
    Program program(store_in(folder));
    REQUIRE(Http(program.port()).post(to_line(note("Kept."))).result_int() == 200);
  }
  const auto there = (folder / "there").string();
  std::ofstream(there) << "mine";
  for (const char* option : {"--backup-to ", "--export-to "}) {
    CAPTURE(option);
    CHECK(ran(store_in(folder) + " " + option + there) != 0);
    CHECK(text_in(there) == "mine");
    CHECK(ran("--store " + (folder / "none").string() + " " + option +
              (folder / "copy").string()) != 0);
    CHECK(ran("--store " + there + " " + option + (folder / "copy").string()) != 0);
    CHECK_FALSE(std::filesystem::exists(folder / "copy"));
    CHECK_FALSE(std::filesystem::exists(folder / "copy.unfinished"));
  }
  std::ofstream(folder / "broken.jsonl") << to_line(note("Good.")) << "\n{\"id\":\n";
  CHECK(ran("--store " + (folder / "new").string() + " --import-from " +
            (folder / "broken.jsonl").string()) != 0);
  CHECK_FALSE(std::filesystem::exists(folder / "new"));
}

TEST_CASE("a store that one server writes to is not given to a second one") {
  const Folder folder;
  Program first(store_in(folder));
  CHECK(Program(store_in(folder)).port() == 0);
  std::ofstream(folder / "log.jsonl") << lines_of(recorded());
  CHECK(ran(store_in(folder) + " --import-from " + (folder / "log.jsonl").string()) != 0);
  CHECK(Http(first.port()).post(to_line(note("Goes on."))).result_int() == 200);
  first.signal(SIGKILL);
  first.wait();
  CHECK(Program(store_in(folder)).port() != 0);
}

}  // namespace
}  // namespace stonecall::server
