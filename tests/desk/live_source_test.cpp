#include "console/desk/live_source.hpp"

#include <condition_variable>
#include <csignal>
#include <fstream>
#include <mutex>

#include <catch2/catch.hpp>

#include "tests/server/exercise.hpp"
#include "tests/server/running.hpp"
#include "tests/support/events.hpp"

using namespace stonecall::desk;
using stonecall::protocol::EventPtr;
using stonecall::server::tests::events_at;
using stonecall::server::tests::Folder;
using stonecall::server::tests::Program;
using Kind = stonecall::desk::LinkState::Kind;

namespace {

/// A live source, watched: waits for what is to come instead of sleeping.
class Watched {
 public:
  explicit Watched(std::uint16_t port, std::filesystem::path unsent = {},
                   std::optional<stonecall::protocol::Plan> plan = {})
      : source_(LiveSetup{{"127.0.0.1", port},
                          "",
                          "the test's server",
                          std::move(unsent),
                          Mode::live,
                          {},
                          {},
                          std::move(plan),
                          "WREN"},
                Workers{}, [this] {
                  const std::lock_guard lock(mutex_);
                  woken_.notify_all();
                }) {}

  template <class Ready>
  std::shared_ptr<const View> when(Ready ready) {
    std::unique_lock lock(mutex_);
    std::shared_ptr<const View> view;
    const bool came = woken_.wait_for(lock, std::chrono::seconds(60), [&] {
      view = source_.view();
      return ready(*view);
    });
    REQUIRE(came);
    return view;
  }
  std::shared_ptr<const View> when(Kind kind) {
    return when([&](const View& view) { return view.link.kind == kind; });
  }
  void post(const EventPtr& event) { source_.post(event); }
  void send_unclaimed() { source_.send_unclaimed(); }
  EventPtr say(const std::string& text) {
    auto event =
        std::make_shared<const stonecall::protocol::Event>(stonecall::server::tests::note(text));
    source_.post(event);
    return event;
  }

 private:
  std::mutex mutex_;
  std::condition_variable woken_;
  LiveSource source_;
};

std::size_t heard(const View& view) {
  return view.picture ? view.picture->heard.size() : 0;
}

bool all_stored(const View& view) {
  for (const auto& line : view.picture->heard)
    if (!line.event->seq) return false;
  return true;
}

std::size_t times_stored(std::uint16_t port, const EventPtr& event) {
  std::size_t times = 0;
  for (const auto& stored : events_at(port)) times += stored.id == event->id;
  return times;
}

}  // namespace

TEST_CASE("a lost server is found again, and what was posted meanwhile goes out once") {
  const Folder folder;
  const std::string store = "--store " + (folder / "store").string();
  auto server = std::make_unique<Program>(store);
  const std::uint16_t port = server->port();
  Watched desk(port);
  desk.when(Kind::connected);
  desk.say("Before.");
  desk.when([](const View& v) { return heard(v) == 1 && all_stored(v) && v.link.waiting == 0; });

  server->signal(SIGKILL);
  server->wait();
  auto lost = desk.when(Kind::lost);
  CHECK(lost->link.since);
  CHECK_FALSE(lost->link.words.empty());
  const auto first = desk.say("While it was away."), second = desk.say("And again.");
  // Shown at once, and said to wait.
  auto waiting = desk.when([](const View& v) { return heard(v) == 3 && v.link.waiting == 2; });
  CHECK(waiting->link.kind == Kind::lost);
  // Tried again and again, the link is down since it was lost, not since the last try.
  auto tried = desk.when([&](const View& v) { return v.link.words != lost->link.words; });
  CHECK(tried->link.kind == Kind::lost);
  CHECK(tried->link.since == lost->link.since);

  server = std::make_unique<Program>(store + " --listen 127.0.0.1:" + std::to_string(port));
  REQUIRE(server->port() == port);
  auto regained = desk.when([](const View& v) {
    return v.link.kind == Kind::connected && v.link.waiting == 0 && all_stored(v);
  });
  CHECK(heard(*regained) == 3);
  CHECK(events_at(port).size() == 3);
  CHECK(times_stored(port, first) == 1);
  CHECK(times_stored(port, second) == 1);
}

TEST_CASE("a post that the server refuses is taken out of the picture again, and said so") {
  const Folder folder;
  const Program server("--store " + (folder / "store").string());
  Watched desk(server.port());
  desk.when(Kind::connected);
  desk.say("Of ten, seven basalt.");
  const auto refused = desk.say(std::string(9000, 'x'));  // a text has at most 8 KiB
  auto view = desk.when([](const View& v) { return v.link.refused.has_value(); });
  REQUIRE(view->link.refused->event);
  CHECK(view->link.refused->event->id == refused->id);
  CHECK_FALSE(view->link.refused->why.empty());
  view = desk.when([](const View& v) { return heard(v) == 1 && all_stored(v); });
  CHECK(view->link.waiting == 0);
  CHECK(events_at(server.port()).size() == 1);
}

TEST_CASE("what could not go out before the desk was left goes out the next time, once") {
  const Folder folder;
  const std::string store = "--store " + (folder / "store").string();
  const auto unsent = folder / "unsent.jsonl";
  auto server = std::make_unique<Program>(store);
  const std::uint16_t port = server->port();
  EventPtr said;
  {
    Watched desk(port, unsent);
    desk.when(Kind::connected);
    server->signal(SIGKILL);
    server->wait();
    desk.when(Kind::lost);
    said = desk.say("Nobody heard this yet.");
    desk.when([](const View& v) { return v.link.waiting == 1; });
  }
  CHECK(std::filesystem::file_size(unsent) > 0);
  server = std::make_unique<Program>(store + " --listen 127.0.0.1:" + std::to_string(port));
  {
    Watched desk(port, unsent);
    desk.when([](const View& v) { return heard(v) == 1 && all_stored(v) && v.link.waiting == 0; });
    CHECK(times_stored(port, said) == 1);
  }
  CHECK_FALSE(std::filesystem::exists(unsent));
}

TEST_CASE("what was meant for one exercise is not posted to another at the same address") {
  const Folder folder;
  const auto unsent = folder / "unsent" / "server.jsonl";
  auto ridge = stonecall::test::small_plan(), gully = ridge;
  ridge.name = "Ridge";
  gully.name = "Gully";
  const auto started = [&](const std::string& store, std::uint16_t at) {
    return std::make_unique<Program>("--store " + (folder / store).string() +
                                     " --listen 127.0.0.1:" + std::to_string(at));
  };
  auto server = started("ridge", 0);
  const std::uint16_t port = server->port();
  EventPtr said;
  {
    Watched desk(port, unsent, ridge);
    desk.when([](const View& v) { return v.plan() && all_stored(v) && v.link.waiting == 0; });
    server->signal(SIGKILL);
    server->wait();
    desk.when(Kind::lost);
    said = desk.say("Bag thirty one, basalt, on the ridge.");
    desk.when([](const View& v) { return v.link.waiting == 1; });
  }
  server = started("gully", port);
  {
    Watched desk(port, unsent, gully);
    auto view = desk.when([](const View& v) {
      return v.plan() && all_stored(v) && !v.link.elsewhere.empty() && v.link.waiting == 0;
    });
    CHECK(view->plan()->name == "Gully");
    REQUIRE(view->link.elsewhere.size() == 1);
    const auto& kept = view->link.elsewhere.front();
    CHECK(kept.posts == 1);
    CHECK(kept.meant_for.exercise == name_of_exercise(ridge));
    CHECK(std::filesystem::exists(kept.file));
    desk.say("In the gully.");
    desk.when([](const View& v) { return heard(v) == 2 && all_stored(v) && v.link.waiting == 0; });
    CHECK(times_stored(port, said) == 0);
  }
  server->signal(SIGKILL);
  server->wait();
  server = started("ridge", port);
  Watched desk(port, unsent);
  auto view = desk.when(
      [](const View& v) { return heard(v) == 2 && all_stored(v) && v.link.waiting == 0; });
  CHECK(view->link.elsewhere.empty());
  CHECK(times_stored(port, said) == 1);
}

TEST_CASE("what is typed before the server was ever heard goes to the exercise of its hours") {
  const Folder folder;
  const auto unsent = folder / "unsent" / "server.jsonl";
  auto plan = stonecall::test::small_plan();
  std::uint16_t port = 0;
  {
    const Program first("--store " + (folder / "ridge").string());
    port = first.port();
    Watched desk(port, {}, plan);
    desk.when([](const View& v) { return v.plan() && all_stored(v); });
  }
  // An hour late to start, as it goes; or of another day.
  const bool in_its_hours = GENERATE(true, false);
  stonecall::protocol::Event early = stonecall::server::tests::note("Bag one, basalt.");
  early.at.instant =
      plan.start.instant + (in_its_hours ? -std::chrono::hours(1) : -std::chrono::hours(24));
  const auto said = std::make_shared<const stonecall::protocol::Event>(early);
  {
    Watched desk(port, unsent);
    desk.post(said);
    desk.when([](const View& v) { return heard(v) == 0 || v.link.waiting == 1; });
    const Program server("--store " + (folder / "ridge").string() +
                         " --listen 127.0.0.1:" + std::to_string(port));
    if (in_its_hours) {
      desk.when([](const View& v) { return heard(v) == 2 && all_stored(v); });
      CHECK(times_stored(port, said) == 1);
      return;
    }
    // Nobody knows for which exercise it was: it is told, and waits for a person.
    auto view = desk.when([](const View& v) { return v.plan() && v.link.unclaimed == 1; });
    CHECK(heard(*view) == 1);
    CHECK(view->link.waiting == 0);
    CHECK(view->link.elsewhere.empty());
    desk.say("Here now.");
    desk.when([](const View& v) { return heard(v) == 2 && all_stored(v); });
    CHECK(times_stored(port, said) == 0);
  }
  const Program server("--store " + (folder / "ridge").string() +
                       " --listen 127.0.0.1:" + std::to_string(port));
  {
    Watched desk(port, unsent);  // nor is it lost with the desk
    desk.when([](const View& v) { return v.plan() && v.link.unclaimed == 1; });
    desk.send_unclaimed();
    auto view = desk.when([](const View& v) {
      return heard(v) == 3 && all_stored(v) && v.link.waiting == 0 && v.link.unclaimed == 0;
    });
    CHECK(times_stored(port, said) == 1);
  }
  Watched desk(port, unsent);
  auto view = desk.when([](const View& v) { return heard(v) == 3 && v.link.waiting == 0; });
  CHECK(view->link.unclaimed == 0);
  CHECK_FALSE(std::filesystem::exists(kept_aside(unsent)));
}

TEST_CASE("what is typed at a desk opened with a plan is for that plan's exercise from the first") {
  const Folder folder;
  const auto unsent = folder / "unsent" / "server.jsonl";
  auto ridge = stonecall::test::small_plan(), gully = ridge;
  gully.name = "Gully";
  std::uint16_t port = 0;
  {
    const Program first("--store " + (folder / "gully").string());
    port = first.port();
    Watched desk(port, {}, gully);
    desk.when([](const View& v) { return v.plan() && all_stored(v); });
  }
  Watched desk(port, unsent, ridge);
  const auto said = desk.say("On the ridge.");
  const Program server("--store " + (folder / "gully").string() +
                       " --listen 127.0.0.1:" + std::to_string(port));
  auto view = desk.when([](const View& v) { return v.plan() && !v.link.elsewhere.empty(); });
  CHECK(view->link.elsewhere.front().meant_for.exercise == name_of_exercise(ridge));
  CHECK(view->link.unclaimed == 0);
  CHECK(times_stored(port, said) == 0);
}

TEST_CASE("a desk that cannot keep what waits says so before anything is lost") {
  const Folder folder;
  std::ofstream(folder / "file") << "no folder";
  const Program server("--store " + (folder / "store").string());
  Watched desk(server.port(), folder / "file" / "server.jsonl");
  Watched fine(server.port(), folder / "unsent" / "server.jsonl");
  CHECK(desk.when(Kind::connected)->not_kept.find("server.jsonl") != std::string::npos);
  CHECK(fine.when(Kind::connected)->not_kept.empty());
}

TEST_CASE("a plan opened with the desk is given to an exercise that has none, once") {
  const Folder folder;
  const Program server("--store " + (folder / "store").string());
  const auto plan = stonecall::test::small_plan();
  {
    Watched desk(server.port(), {}, plan);
    auto view = desk.when([](const View& v) { return v.plan() && all_stored(v); });
    CHECK(*view->plan() == plan);
    CHECK(view->picture->heard.back().event->from == "WREN");
  }
  auto other = plan;
  other.name = "Another";
  Watched again(server.port(), {}, other);
  again.when([](const View& v) { return v.plan() && v.link.kind == Kind::connected; });
  // What is said after it would come after the other plan.
  again.say("Here again.");
  auto view = again.when([](const View& v) { return heard(v) == 2 && all_stored(v); });
  CHECK(*view->plan() == plan);
}
