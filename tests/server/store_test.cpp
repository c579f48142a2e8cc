#include "server/store.hpp"

#include <algorithm>
#include <atomic>
#include <fstream>
#include <future>
#include <mutex>
#include <numeric>
#include <sstream>
#include <thread>

#include <SQLiteCpp/SQLiteCpp.h>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>
#include <catch2/catch.hpp>

#include "protocol/log.hpp"
#include "server/archive.hpp"
#include "server/layout.hpp"
#include "server/log_check.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/first_layout.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;

constexpr Sequence all = ~Sequence{0};
constexpr std::size_t a_lot = 1 << 30;

StoreOptions options_for(const std::filesystem::path& file) {
  StoreOptions options;
  options.file = file;
  options.clock = [] { return time_of("2027-05-18T09:10:00.250+02:00"); };
  return options;
}

std::unique_ptr<Store> opened(StoreOptions options) {
  auto store = Store::open(std::move(options));
  if (!store) FAIL(store.error());
  return std::move(*store);
}

PostOutcome post(Store& store, const std::vector<Event>& events) {
  std::vector<Draft> drafts;
  for (const Event& event : events) drafts.push_back(draft_of(event));
  std::promise<PostOutcome> outcome;
  store.post(std::move(drafts), [&](PostOutcome result) { outcome.set_value(std::move(result)); });
  return outcome.get_future().get();
}

std::vector<Event> events_in(const Store& store, Sequence after = 0) {
  const auto page = store.read(after, all, a_lot, '\n');
  REQUIRE(page);
  std::istringstream text(page->text);
  const protocol::Log log = protocol::read_log(text);
  REQUIRE(log.faults.empty());
  std::vector<Event> events;
  for (const auto& event : log.events) events.push_back(*event);
  return events;
}

TEST_CASE("events are numbered in the order they were posted and keep their content") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  const std::vector<Event> posted{note("Basalt wall on our left."), look(7, 2),
                                  note("Bag twelve.")};

  const auto outcome = post(*store, posted);

  REQUIRE(outcome);
  REQUIRE(outcome->size() == 3);
  const std::vector<Event> stored = events_in(*store);
  REQUIRE(stored.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(outcome->at(i).seq == i + 1);
    CHECK(stored[i].seq == i + 1);
    CHECK(stored[i].received == time_of("2027-05-18T09:10:00.250+02:00"));
    CHECK(same_as_sent(stored[i], posted[i]));
  }
  CHECK(store->newest() == 3);
}

TEST_CASE("a stored line is the canonical form of its event") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  Event event = note("Scoria underfoot.");
  event.unknown["helmet_camera"] = 3;
  REQUIRE(post(*store, {event, look(1, 1)}));
  const auto page = store->read(0, all, a_lot, '\n');
  REQUIRE(page);
  std::istringstream lines(page->text);
  for (std::string line; std::getline(lines, line);) {
    const auto read = protocol::parse_event(line);
    REQUIRE(read);
    CHECK(protocol::to_line(*read) == line);
  }
}

TEST_CASE("the same event posted again is acknowledged with its first number and stored once") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  const Event event = note("Red scoria, fist size.");
  REQUIRE(post(*store, {note("Before."), event}));

  SECTION("in a later post") {
    const auto outcome = post(*store, {event});
    REQUIRE(outcome);
    CHECK(outcome->front().seq == 2);
    CHECK(outcome->front().again);
  }
  SECTION("twice in one post") {
    const Event twice = note("Said once.");
    const auto outcome = post(*store, {twice, twice});
    REQUIRE(outcome);
    CHECK(outcome->at(0).seq == 3);
    CHECK(outcome->at(1).seq == 3);
    CHECK(store->newest() == 3);
  }
  SECTION("as a desk read it back, with the server's members") {
    const auto outcome = post(*store, {events_in(*store).at(1)});
    REQUIRE(outcome);
    CHECK(outcome->front().seq == 2);
  }
}

TEST_CASE("the same id with other content is refused, and what stood stays") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  const Event first = note("Seven basalt.");
  Event other = first;
  other.body = protocol::VoiceNote{"Eleven basalt.", "Ilse", {}};
  REQUIRE(post(*store, {first}));

  const auto outcome = post(*store, {other, note("Moving on.")});

  REQUIRE(outcome);
  CHECK(outcome->at(0).seq == 0);
  CHECK_FALSE(outcome->at(0).refused.empty());
  CHECK(outcome->at(1).seq == 2);
  CHECK(same_as_sent(events_in(*store).at(0), first));
}

TEST_CASE("an event whose clock is more than a day off is stored and flagged") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  const Event late = note("Year set wrong.", "2026-05-18T09:07:25.000+02:00");
  const Event within = note("A day is allowed.", "2027-05-17T09:10:00.250+02:00");
  REQUIRE(post(*store, {late, within}));

  const auto stored = events_in(*store);
  CHECK(stored.at(0).unknown.value("clock_off", false));
  CHECK_FALSE(stored.at(1).unknown.contains("clock_off"));

  const auto again = post(*store, {late});
  REQUIRE(again);
  CHECK(again->front().seq == 1);
}

TEST_CASE("an event played from a log keeps the time it was received") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  Event played = note("From last year's exercise.");
  played.received = time_of("2027-05-18T09:07:38.120+02:00");
  REQUIRE(post(*store, {played}));
  CHECK(events_in(*store).at(0).received == played.received);
}

TEST_CASE("an event of the largest allowed size can be stored, read and posted again") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  Event event = note("Long list.");
  for (int i = 0; i < 7; ++i) event.unknown["extra_" + std::to_string(i)] = std::string(8'000, 'x');
  REQUIRE(post(*store, {event}));
  CHECK(same_as_sent(events_in(*store).at(0), event));
  CHECK(post(*store, {event})->front().again);
}

TEST_CASE("a store opened again goes on where it stopped") {
  const Folder folder;
  const Event first = note("First.");
  { REQUIRE(post(*opened(options_for(folder / "store")), {first, note("Second.")})); }
  const auto store = opened(options_for(folder / "store"));
  CHECK(store->newest() == 2);
  CHECK(post(*store, {note("Third.")})->front().seq == 3);
  CHECK(post(*store, {first})->front().seq == 1);
  CHECK(events_in(*store).size() == 3);
}

TEST_CASE("reading starts after a number, ends with another and stops at the size asked for") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  REQUIRE(post(*store, {note("1"), note("2"), note("3"), note("4"), note("5")}));

  const auto middle = store->read(1, 4, a_lot, ',');
  REQUIRE(middle);
  CHECK(middle->first == 2);
  CHECK(middle->last == 4);
  CHECK(middle->count == 3);
  CHECK(store->read(0, all, 1, ',')->count == 1);
  CHECK(store->read(5, all, a_lot, ',')->count == 0);
  CHECK(store->read(all, all, a_lot, ',')->count == 0);
}

TEST_CASE(
    "posts from many threads get numbers without gaps, one each, and are announced in order") {
  const Folder folder;
  constexpr int posters = 8;
  constexpr int each = 50;
  constexpr int alone = 40;
  std::vector<Sequence> announced;
  auto options = options_for(folder / "store");
  const bool by_another_thread = GENERATE(false, true);
  CAPTURE(by_another_thread);
  std::unique_ptr<Store> store;
  boost::asio::thread_pool another(1);
  std::atomic<int> asked = 0;
  if (by_another_thread) {
    options.quick_commit = std::chrono::hours(1);
    options.commit_soon = [&] {
      ++asked;
      boost::asio::post(another, [&] { store->commit_waiting(); });
    };
  }
  options.on_commit = [&](std::vector<Page> pages) {
    for (const Page& page : pages) {
      for (Sequence seq = page.first; seq <= page.last; ++seq) announced.push_back(seq);
    }
  };
  std::vector<std::vector<Sequence>> given(posters);
  {
    store = opened(options);
    // Posts that come one by one and are stored quickly are what another thread is asked for.
    for (int i = 0; i < alone; ++i) {
      const auto outcome = post(*store, {look(posters, i)});
      REQUIRE(outcome);
      given.front().push_back(outcome->front().seq);
    }
    std::vector<std::thread> threads;
    for (int p = 0; p < posters; ++p) {
      threads.emplace_back([&, p] {
        for (int i = 0; i < each; ++i) {
          const std::vector<Event> events{look(p, i)};
          std::promise<Sequence> seq;
          store->post({draft_of(events.front())},
                      [&](PostOutcome out) { seq.set_value(out ? out->front().seq : 0); });
          given[static_cast<std::size_t>(p)].push_back(seq.get_future().get());
        }
      });
    }
    for (auto& thread : threads) thread.join();
    CHECK(store->counts().stored == alone + posters * each);
    CHECK(store->counts().commits <= store->counts().stored);
    another.join();
    store.reset();
  }
  CHECK((asked > 0) == by_another_thread);
  std::vector<Sequence> numbers;
  for (const auto& list : given) {
    CHECK(std::is_sorted(list.begin(), list.end()));
    numbers.insert(numbers.end(), list.begin(), list.end());
  }
  std::sort(numbers.begin(), numbers.end());
  std::vector<Sequence> expected(alone + posters * each);
  std::iota(expected.begin(), expected.end(), Sequence{1});
  CHECK(numbers == expected);
  CHECK(announced == expected);
}

TEST_CASE("closing the store answers every post that was accepted") {
  const Folder folder;
  auto options = options_for(folder / "store");
  SECTION("by its own thread") {}
  SECTION("where another thread was asked to commit, and never comes") {
    options.quick_commit = std::chrono::hours(1);
    options.commit_soon = [] {};
  }
  std::atomic<int> stored = 0;
  {
    const auto store = opened(options);
    // So many quick ones, and others are asked.
    for (int i = 0; i < 16; ++i) REQUIRE(post(*store, {look(i, 1)}));
    for (int i = 0; i < 200; ++i) {
      store->post({draft_of(look(i, 0))}, [&](PostOutcome out) { stored += out ? 1 : 0; });
    }
  }
  CHECK(stored == 200);
  CHECK(events_in(*opened(options_for(folder / "store"))).size() == 216);
}

TEST_CASE("what was said is found by its words, whatever their case or accents") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  Event call;
  call.id = protocol::random_uuid();
  call.at = time_of("2027-05-18T09:09:00+02:00");
  call.from = "BACK-ROOM";
  call.body =
      protocol::Call{"Stay for one more vesicular basalt.", {}, {}, {}, {}, {}, {}, {}, {}, {}};
  REQUIRE(
      post(*store, {note("Vesicular basalt here."), look(1, 2), call, note("Café-au-lait tuff.")}));

  CHECK(store->search("basalt VESICULAR", 10, ',')->count == 2);
  CHECK(store->search("basalt more", 10, ',')->first == 3);
  CHECK(store->search("cafe", 10, ',')->first == 4);
  CHECK(store->search("gneiss", 10, ',')->count == 0);
  CHECK(store->search("basalt", 1, ',')->count == 1);
}

TEST_CASE("what was written of a sample, put right or given as a reason is found too") {
  const Folder folder;
  auto store = opened(options_for(folder / "store"));
  Event sample = note("");
  protocol::SampleTaken taken;
  taken.rock = "basalt";
  taken.description = "Glassy rind";
  taken.picked = "the only banded one";
  sample.body = taken;
  const Event spoken = note("Gneiss by the ford.");
  Event amend = note(""), retract = note("");
  amend.body = protocol::Amend{spoken.id, {{"text", "Marble by the ford."}}, "misheard"};
  retract.body = protocol::Retract{spoken.id, "said twice"};
  REQUIRE(post(*store, {sample, spoken, amend, retract}));
  for (const char* words : {"glassy banded", "marble", "misheard", "twice"}) {
    CAPTURE(words);
    const auto found = store->search(words, 100, '\n');
    REQUIRE(found);
    CHECK(found->count == 1);
  }
}

TEST_CASE("what was said is found before it is indexed, and afterwards") {
  const Folder folder;
  auto options = options_for(folder / "store");
  const auto found = [](const Store& store) {
    return std::pair(store.search("basalt", 10, ',')->text,
                     store.search("red scoria", 10, ',')->count);
  };
  const auto indexed_through = [&] {
    SQLite::Database db((folder / "store").string(), SQLite::OPEN_READONLY, 5'000);
    return static_cast<Sequence>(db.execAndGet("SELECT through FROM indexed").getInt64());
  };
  options.index_after = std::chrono::hours(1);
  auto store = opened(options);
  REQUIRE(post(*store, {note("Basalt, vesicular."), look(1, 2), note("Red scoria."),
                        note("Basalt again.")}));
  const auto at_once = found(*store);
  CHECK(at_once.second == 1);
  CHECK(at_once.first.find("again") != std::string::npos);
  CHECK(found(*store) == at_once);  // a search leaves nothing behind
  store.reset();
  REQUIRE(indexed_through() == 0);

  options.index_after = std::chrono::milliseconds(0);
  store = opened(options);
  while (indexed_through() < 4) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  CHECK(found(*store) == at_once);
  REQUIRE(post(*store, {note("More basalt.")}));
  CHECK(store->search("basalt", 10, ',')->count == 3);
}

TEST_CASE("a store of the first layout is brought up to date, with all that is in it") {
  const Folder folder;
  const Event first = note("Basalt on the rim.");
  const Event second = look(3, 1);
  std::string lines;
  {
    const auto store = opened(options_for(folder / "new"));
    REQUIRE(post(*store, {first, second}));
    lines = store->read(0, all, a_lot, '\n')->text;
  }
  make_first_layout(folder / "store", {first, second}, lines, "Basalt on the rim.");
  const auto store = opened(options_for(folder / "store"));
  CHECK(store->read(0, all, a_lot, '\n')->text == lines);
  CHECK(store->search("basalt", 10, ',')->first == 1);
  CHECK(post(*store, {second})->front().again);
  CHECK(post(*store, {note("Scoria below it.")})->front().seq == 3);
  CHECK(store->search("scoria", 10, ',')->first == 3);
  SQLite::Database db((folder / "store").string(), SQLite::OPEN_READONLY);
  CHECK(db.execAndGet("PRAGMA user_version").getInt() == store_version);
  CHECK(db.execAndGet("PRAGMA integrity_check").getString() == "ok");
}

TEST_CASE("signs that are operators to the search engine are only words to a person") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  REQUIRE(post(*store, {note("Basalt OR scoria?")}));
  for (const char* words :
       {"\"", "basalt OR", "NOT", "a* AND (", "NEAR(", "col:basalt", "", "   ", "\"\"\""}) {
    CAPTURE(words);
    CHECK(store->search(words, 10, ','));
  }
  CHECK(store->search("OR scoria", 10, ',')->count == 1);
}

TEST_CASE(
    "a full store refuses posts with the reason, still reads, and takes posts again when there is "
    "room") {
  const Folder folder;
  auto options = options_for(folder / "store");
  options.max_pages = 40;
  Sequence kept = 0;
  {
    const auto store = opened(options);
    PostOutcome outcome;
    for (int i = 0; i < 1'000; ++i) {
      outcome = post(*store, {note(std::string(4'000, 'x'))});
      if (!outcome) break;
      kept = outcome->front().seq;
    }
    REQUIRE_FALSE(outcome);
    CHECK(outcome.error().kind == StoreFault::Kind::full);
    CHECK(store->write_fault()->kind == StoreFault::Kind::full);
    CHECK(events_in(*store).size() == kept);
  }
  options.max_pages = 0;
  const auto store = opened(options);
  CHECK(events_in(*store).size() == kept);
  CHECK(post(*store, {note("There is room again.")})->front().seq == kept + 1);
  CHECK_FALSE(store->write_fault());
}

TEST_CASE("a store of a newer version is read but not written") {
  const Folder folder;
  { REQUIRE(post(*opened(options_for(folder / "store")), {note("Kept.")})); }
  {
    SQLite::Database db((folder / "store").string(), SQLite::OPEN_READWRITE);
    db.exec("PRAGMA user_version=7");
  }
  const auto store = opened(options_for(folder / "store"));
  const auto outcome = post(*store, {note("Refused.")});
  REQUIRE_FALSE(outcome);
  CHECK(outcome.error().kind == StoreFault::Kind::newer_version);
  CHECK(outcome.error().what.find("version 7") != std::string::npos);
  CHECK(events_in(*store).size() == 1);
}

TEST_CASE("a file that is no event store is not opened and not touched") {
  const Folder folder;
  SECTION("text") {
    std::ofstream(folder / "store") << std::string(8'192, 'x');
    const auto store = Store::open(options_for(folder / "store"));
    REQUIRE_FALSE(store);
    CHECK(std::filesystem::file_size(folder / "store") == 8'192);
  }
  SECTION("another program's database") {
    {
      SQLite::Database db((folder / "store").string(),
                          SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
      db.exec("CREATE TABLE invoices(number INTEGER)");
    }
    REQUIRE_FALSE(Store::open(options_for(folder / "store")));
    SQLite::Database db((folder / "store").string());
    CHECK_FALSE(db.tableExists("events"));
  }
  SECTION("a folder") {
    const auto store = Store::open(options_for(folder.path()));
    REQUIRE_FALSE(store);
    CHECK(store.error().find("is a folder") != std::string::npos);
  }
  SECTION("a folder that does not exist") {
    const auto store = Store::open(options_for(folder / "none" / "store"));
    REQUIRE_FALSE(store);
    CHECK(store.error().find("store") != std::string::npos);
  }
}

TEST_CASE(
    "damage in the middle of the file is an answer, not a death, and costs no event before it") {
  const Folder folder;
  {
    const auto store = opened(options_for(folder / "store"));
    for (int i = 0; i < 100; ++i) REQUIRE(post(*store, {note(std::string(2'000, 'x'))}));
  }
  const auto size = std::filesystem::file_size(folder / "store");
  {
    std::fstream file(folder / "store", std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(static_cast<std::streamoff>(size / 2));
    file << std::string(size / 2, '\xa5');
  }
  const auto store = Store::open(options_for(folder / "store"));
  if (!store) return;  // the damage may hide the newest number; then the sentence is the answer
  Sequence read = 0;
  for (;;) {
    const auto page = (*store)->read(read, all, 1, '\n');
    if (!page) {
      CHECK(page.error().kind == StoreFault::Kind::corrupt);
      break;
    }
    if (page->count == 0) break;
    CHECK(protocol::parse_event(page->text));
    read = page->last;
  }
  CHECK(read > 20);
}

TEST_CASE("an event that is missing is told by its number; nothing is written behind the gap") {
  const Folder folder;
  { REQUIRE(post(*opened(options_for(folder / "store")), {note("1"), note("2"), note("3")})); }
  const Sequence gone = GENERATE(1, 2);
  {
    SQLite::Database db((folder / "store").string(), SQLite::OPEN_READWRITE);
    db.exec("DELETE FROM events WHERE seq = " + std::to_string(gone));
  }
  const auto store = opened(options_for(folder / "store"));
  const std::string told = "event " + std::to_string(gone) + " is missing";
  const auto refused = post(*store, {note("4")});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().kind == StoreFault::Kind::corrupt);
  CHECK(refused.error().what.find(told) != std::string::npos);
  CHECK(store->write_fault()->kind == StoreFault::Kind::corrupt);
  if (gone > 1) CHECK(store->read(0, all, a_lot, ',')->last == gone - 1);
  const auto broken = store->read(gone - 1, all, a_lot, ',');
  REQUIRE_FALSE(broken);
  CHECK(broken.error().kind == StoreFault::Kind::corrupt);
  CHECK(broken.error().what.find(told) != std::string::npos);
  CHECK(store->read(gone, all, a_lot, ',')->last == 3);
}

/// Changes one stored event's line as a disk would: the store's own numbers know nothing of it.
void flip_in(const std::filesystem::path& file, Sequence seq, const std::string& line) {
  SQLite::Database db(file.string(), SQLite::OPEN_READWRITE, 5'000);
  SQLite::Statement change(db, "UPDATE events SET line = ? WHERE seq = ?");
  change.bind(1, line);
  change.bind(2, static_cast<std::int64_t>(seq));
  change.exec();
}

std::string line_of(const Store& store, Sequence seq) {
  return store.read(seq - 1, seq, a_lot, ',')->text;
}

TEST_CASE("the sum kept with an event is the CRC-32 of its id and line, as others compute it") {
  // The check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms:
  // "123456789".
  CHECK(layout::sum_of("1234", "56789") == 0xcbf43926);
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  const Event event = note("Basalt on the rim.");
  REQUIRE(post(*store, {event}));
  SQLite::Database db((folder / "store").string(), SQLite::OPEN_READONLY);
  const std::string_view id(reinterpret_cast<const char*>(event.id.data), event.id.size());
  CHECK(db.execAndGet("SELECT sum FROM events").getInt64() ==
        layout::sum_of(id, line_of(*store, 1)));
}

TEST_CASE("of a flipped byte only that event is lost: in its place stands what says so") {
  const Folder folder;
  const auto file = folder / "store";
  const Event before = note("Scoria."), hit = note("Basalt on the rim."), after = note("Tuff.");
  std::string whole;
  {
    const auto store = opened(options_for(file));
    REQUIRE(post(*store, {before, hit, after}));
    whole = line_of(*store, 2);
  }
  std::string line = whole;
  const std::size_t at = line.find("Basalt");
  const char flipped = GENERATE('b', '"', '\x80', '\0', '\n');
  CAPTURE(static_cast<int>(flipped));
  line[at] = flipped;
  flip_in(file, 2, line);
  const auto store = opened(options_for(file));

  const auto events = events_in(*store);

  REQUIRE(events.size() == 3);
  CHECK(same_as_sent(events[0], before));
  CHECK(same_as_sent(events[2], after));
  CHECK(events[1].seq == 2);
  CHECK(events[1].id == hit.id);
  const auto* damaged = std::get_if<protocol::Damaged>(&events[1].body);
  REQUIRE(damaged);
  CHECK(events[1].at == events[0].received);
  CHECK(damaged->left->find("asalt on the rim.") != std::string::npos);
  CHECK(store->counts().damaged == 1);
  CHECK(post(*store, {note("Ash.")})->front().seq == 4);
  CHECK(post(*store, {after})->front().again);
  CHECK(post(*store, {hit})->front().refused.find("is damaged") != std::string::npos);

  const auto copy = folder / "copy.jsonl";
  CHECK(export_log(file, copy) == 4u);
  CHECK(kind_of(*protocol::read_log_file(copy.string())->events[1]) == "damaged");

  flip_in(file, 2, whole);
  CHECK(line_of(*store, 2) == whole);
}

TEST_CASE("a line of which nothing can be read is told as damaged too, however long it was") {
  const Folder folder;
  const auto file = folder / "store";
  { REQUIRE(post(*opened(options_for(file)), {note(std::string(8'000, 'x')), note("Tuff.")})); }
  flip_in(file, 1, GENERATE(std::string(8'300, '\x80'), std::string(8'300, '\0'), std::string()));
  const auto store = opened(options_for(file));
  const auto events = events_in(*store);  // a desk could read them
  REQUIRE(events.size() == 2);
  CHECK(kind_of(events[0]) == "damaged");
}

TEST_CASE("what a search finds damaged is said so, and counted") {
  const Folder folder;
  const auto file = folder / "store";
  {
    const auto store = opened(options_for(file));
    REQUIRE(post(*store, {note("Basalt on the rim."), note("Basalt below.")}));
    REQUIRE(store->search("basalt", 10, ',')->count == 2);
    SQLite::Database db(file.string(), SQLite::OPEN_READONLY, 5'000);
    while (db.execAndGet("SELECT through FROM indexed").getInt() < 2)
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }
  flip_in(file, 2, line_of(*opened(options_for(file)), 2) + " ");
  const auto store = opened(options_for(file));
  const auto found = store->search("basalt", 10, '\n');
  REQUIRE(found);
  CHECK(found->count == 2);
  CHECK(found->text.find(R"("kind":"damaged")") != std::string::npos);
  CHECK(store->counts().damaged == 1);
}

TEST_CASE("an id that is not the one stored is damage too") {
  const Folder folder;
  { REQUIRE(post(*opened(options_for(folder / "store")), {note("Scoria."), note("Basalt.")})); }
  SQLite::Database((folder / "store").string(), SQLite::OPEN_READWRITE)
      .exec("UPDATE events SET id = x'00112233445566778899aabbccddeeff' WHERE seq = 1");
  const auto events = events_in(*opened(options_for(folder / "store")));
  REQUIRE(events.size() == 2);
  CHECK(kind_of(events[0]) == "damaged");
  CHECK(kind_of(events[1]) == "voice_note");
}

TEST_CASE("a store made before sums were kept is read as it is, and keeps them from then on") {
  const Folder folder;
  const auto file = folder / "store";
  const Event old = note("Basalt.");
  {
    const auto store = opened(options_for(file));
    REQUIRE(post(*store, {old}));
  }
  {
    SQLite::Database db(file.string(), SQLite::OPEN_READWRITE);
    db.exec("ALTER TABLE events DROP COLUMN sum");
    db.exec("PRAGMA user_version = 2");
  }
  {
    const auto store = opened(options_for(file));
    CHECK(same_as_sent(events_in(*store).front(), old));
    CHECK(post(*store, {old})->front().again);
    CHECK(post(*store, {note("Tuff.")})->front().seq == 2);
  }
  SQLite::Database db(file.string(), SQLite::OPEN_READONLY);
  CHECK(db.execAndGet("PRAGMA user_version").getInt() == store_version);
  CHECK(db.execAndGet("SELECT count(*) FROM events WHERE sum IS NULL").getInt() == 1);
  CHECK(db.execAndGet("SELECT count(*) FROM events WHERE sum IS NOT NULL").getInt() == 1);
}

TEST_CASE("the write-ahead log has its length before it is filled, and keeps it") {
  const Folder folder;
  const auto log = folder / "store-wal";
  auto options = options_for(folder / "store");
  options.checkpoint_pages = 100;
  // SQLite's file format, 4.1: the header, and each page with its own.
  constexpr std::uintmax_t length = 32 + 100 * (24 + 4096);
  const auto store = opened(options);
  REQUIRE(post(*store, {note("Basalt.")}));
  CHECK(std::filesystem::file_size(log) == length);
  const LogCheck begun = check_log(log);
  CHECK(begun.commits > 0);
  CHECK(begun.passed_over == 0);
  for (int i = 0; i < 20; ++i) REQUIRE(post(*store, {note("Tuff.")}));
  CHECK(std::filesystem::file_size(log) == length);
  CHECK(check_log(log).commits >= begun.commits + 20);
}

TEST_CASE("the write-ahead log begins anew while posts go on, one after another") {
  const Folder folder;
  auto options = options_for(folder / "store");
  options.index_after = std::chrono::hours(1);
  options.checkpoint_pages = 5;
  const auto store = opened(options);
  for (int i = 0; i < 250; ++i) REQUIRE(post(*store, {note("Tuff.")}));
  // Past sixteen times its bound a commit waits for the copying.
  CHECK(std::filesystem::file_size(folder / "store-wal") < 32 + 100 * (24 + 4096));
  CHECK(events_in(*store).size() == 250);
}

TEST_CASE("another program that writes into the store's file does not keep posts out of it") {
  const Folder folder;
  auto options = options_for(folder / "store");
  options.index_after = std::chrono::hours(1);
  const auto store = opened(options);
  REQUIRE(post(*store, {note("Basalt.")}));
  for (const char* change : {"CREATE TABLE remarks(text)", "INSERT INTO remarks VALUES('seen')"}) {
    SQLite::Database((folder / "store").string(), SQLite::OPEN_READWRITE).exec(change);
    const auto outcome = post(*store, {note("Tuff.")});
    REQUIRE(outcome);
    CHECK(outcome->front().refused.empty());
  }
  CHECK(events_in(*store).size() == 3);
}

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return std::string(std::istreambuf_iterator<char>(in), {});
}

/// The files of a store as a killed process leaves them, with that many posts in its log.
void leave_as_killed(const Folder& from, const std::filesystem::path& to, int posts) {
  auto options = options_for(from / "store");
  options.index_after = std::chrono::hours(1);
  const auto store = opened(options);
  for (int i = 0; i < posts; ++i) REQUIRE(post(*store, {note(std::to_string(i))}));
  for (const char* end : {"", "-wal"})
    std::filesystem::copy_file((from / "store").string() + end, to.string() + end);
}

TEST_CASE("what a damaged log hides is told and kept, and what stands before it is there") {
  const Folder folder;
  const auto file = folder / "copy";
  const std::filesystem::path log = file.string() + "-wal";
  constexpr int posts = 20;
  leave_as_killed(folder, file, posts);
  const LogCheck whole = check_log(log);
  CHECK(whole.commits == posts + 1);  // and the making of the tables
  CHECK(whole.passed_over == 0);
  std::string bytes = bytes_of(log);
  // As far as there are frames (of pages of 4096 bytes); behind that it is laid out beforehand.
  const std::size_t frames = (bytes.find_last_not_of('\0') - 32) / (24 + 4096) + 1;
  bytes.resize(32 + frames * (24 + 4096));
  SECTION("in the middle") {
    bytes[bytes.size() / 2] ^= 0x5a;
    std::ofstream(log, std::ios::binary) << bytes;
    const LogCheck damaged = check_log(log);
    CHECK(damaged.commits < whole.commits);
    CHECK(damaged.commits + damaged.passed_over >= whole.commits - 1);
    const auto store = opened(options_for(file));
    CHECK(store->newest() == damaged.commits - 1);
    CHECK(events_in(*store).size() == damaged.commits - 1);
    CHECK(bytes_of(log.string() + ".damaged") == bytes);
    CHECK(post(*store, {note("Goes on.")}));
    CHECK(check_log(log).passed_over == 0);
  }
  SECTION("in its header") {
    const std::size_t at = GENERATE(0, 5, 10, 17, 24, 31);
    bytes[at] ^= 0x10;
    std::ofstream(log, std::ios::binary) << bytes;
    CHECK(check_log(log).commits == 0);
    CHECK(check_log(log).passed_over == whole.commits);
  }
  SECTION("cut off in its last frame, as a kill may leave it") {
    std::ofstream(log, std::ios::binary) << bytes.substr(0, bytes.size() - 100);
    CHECK(check_log(log).commits == whole.commits - 1);
    CHECK(check_log(log).passed_over == 0);
    CHECK(opened(options_for(file))->newest() == posts - 1);
    CHECK_FALSE(std::filesystem::exists(log.string() + ".damaged"));
  }
  SECTION("not there, or no log") {
    CHECK(check_log(folder / "none").commits == 0);
    std::ofstream(folder / "text") << std::string(10'000, 'x');
    CHECK(check_log(folder / "text").passed_over == 0);
  }
}

TEST_CASE("events whose store has gone from beside their log are not thrown away") {
  const Folder folder;
  const auto file = folder / "copy";
  leave_as_killed(folder, file, 3);
  const std::string bytes = bytes_of(file);
  std::filesystem::resize_file(file, 0);
  if (GENERATE(false, true)) std::filesystem::remove(file);
  const auto store = Store::open(options_for(file));
  REQUIRE_FALSE(store);
  CHECK(store.error().find("copy-wal holds events") != std::string::npos);
  std::ofstream(file, std::ios::binary) << bytes;
  CHECK(opened(options_for(file))->newest() == 3);
}

TEST_CASE("a store removed from under the server takes no posts until it is put back") {
  const Folder folder;
  const auto store = opened(options_for(folder / "store"));
  REQUIRE(post(*store, {note("Kept.")}));
  const auto file = GENERATE(as<std::string>{}, "store", "store-wal");
  std::filesystem::rename(folder / file, folder / "elsewhere");
  // It is looked for now and then.
  PostOutcome outcome;
  while ((outcome = post(*store, {note("While it was away.")}))) {
  }
  CHECK(outcome.error().kind == StoreFault::Kind::failing);
  CHECK(outcome.error().what.find(file + " was removed") != std::string::npos);
  CHECK(store->write_fault());
  std::filesystem::rename(folder / "elsewhere", folder / file);
  CHECK(post(*store, {note("Put back.")}));
  CHECK_FALSE(store->write_fault());
}

TEST_CASE("past the bound of waiting events a post is answered busy, and nothing of it is stored") {
  const Folder folder;
  auto options = options_for(folder / "store");
  options.waiting_events = 10;
  std::promise<void> go_on;
  std::promise<void> held;
  std::once_flag once;
  options.on_commit = [&, gate = go_on.get_future().share()](auto&&) {
    std::call_once(once, [&] { held.set_value(); });
    gate.wait();
  };
  auto store = opened(options);
  std::atomic<int> stored = 0;
  std::atomic<int> busy = 0;
  const auto count = [&](PostOutcome outcome) {
    if (outcome)
      ++stored;
    else if (outcome.error().kind == StoreFault::Kind::busy)
      ++busy;
  };
  store->post({draft_of(look(0, 1))}, count);
  held.get_future().wait();
  for (int i = 0; i < 25; ++i) store->post({draft_of(look(i, 2))}, count);
  CHECK(busy == 15);
  go_on.set_value();
  store.reset();
  CHECK(stored == 11);
  CHECK(opened(options_for(folder / "store"))->newest() == 11);
}

}  // namespace
}  // namespace stonecall::server
