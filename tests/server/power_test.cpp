#include <future>
#include <map>
#include <set>
#include <thread>

#include <SQLiteCpp/SQLiteCpp.h>
#include <catch2/catch.hpp>

#include "server/store.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/failing_disk.hpp"
#include "tests/server/first_layout.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using Failure = FailingDisk::Failure;

/// Pages of the write-ahead log, so that a short run has copied it into the file several times.
constexpr int often = 4;

StoreOptions options_for(const Folder& folder, const std::string& vfs = {},
                         int checkpoint_pages = often) {
  StoreOptions options;
  options.file = folder / "store";
  options.clock = [] { return time_of("2027-05-18T09:10:00.250+02:00"); };
  options.vfs = vfs;
  options.checkpoint_pages = checkpoint_pages;
  options.index_after = std::chrono::hours(checkpoint_pages == often ? 0 : 1);
  return options;
}

PostOutcome post(Store& store, const Event& event) {
  std::promise<PostOutcome> outcome;
  store.post({draft_of(event)}, [&](PostOutcome result) { outcome.set_value(std::move(result)); });
  return outcome.get_future().get();
}

Sequence indexed_through(const Folder& folder) {
  SQLite::Database db((folder / "store").string(), SQLite::OPEN_READONLY, 5'000);
  return static_cast<Sequence>(db.execAndGet("SELECT through FROM indexed").getInt64());
}

using Acknowledged = std::map<Sequence, Event>;

void check_nothing_is_lost(const Store& store, const Acknowledged& acknowledged) {
  Sequence seq = 0;
  std::size_t notes = 0;
  for (;;) {
    const auto page = store.read(seq, ~Sequence{0}, 1, ',');
    REQUIRE(page);
    if (page->count == 0) break;
    REQUIRE(page->first == seq + 1);
    const auto event = protocol::parse_event(page->text);
    REQUIRE(event);
    if (kind_of(*event) == "voice_note") ++notes;
    if (const auto found = acknowledged.find(page->first); found != acknowledged.end()) {
      REQUIRE(same_as_sent(*event, found->second));
    }
    seq = page->last;
  }
  const auto found = store.search("note", 1'000, ',');
  REQUIRE(found);
  REQUIRE(found->count == notes);
  REQUIRE(seq >= (acknowledged.empty() ? 0 : acknowledged.rbegin()->first));
}

constexpr int events_in_a_run = 12;
constexpr int no_checkpoint = 1'000'000;

Event event_of(int post) {
  return post % 2 == 0 ? note("Note " + std::to_string(post)) : look(post, 1);
}

/// Where nothing is copied or indexed beside the posts, each call to the disk comes at the same
/// place of every run; then the faults, taken one by one, must have met every post.
void check_all_were_met(const std::set<int>& posts_met) {
  CHECK(posts_met.size() == events_in_a_run);
}

TEST_CASE("a power cut at any write or sync loses nothing that was acknowledged") {
  const auto [seed, checkpoint_pages] =
      GENERATE(table<std::uint32_t, int>({{1, often}, {2, often}, {1, no_checkpoint}}));
  std::set<int> posts_cut_off;
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call, seed, checkpoint_pages);
    const Folder folder;
    FailingDisk disk(Failure::power_cut, call, seed);
    Acknowledged acknowledged;
    if (auto store = Store::open(options_for(folder, disk.name(), checkpoint_pages))) {
      for (int i = 0; i < events_in_a_run; ++i) {
        const Event event = event_of(i);
        const auto outcome = post(**store, event);
        if (!outcome) {
          posts_cut_off.insert(i);
          break;
        }
        acknowledged.emplace(outcome->front().seq, event);
      }
    }
    if (!disk.failed()) break;
    disk.restore();
    // What was never acknowledged may be there or not; a file cut short while it was being made may
    // have to be made anew.
    auto store = Store::open(options_for(folder));
    if (!store && acknowledged.empty()) continue;
    if (!store) FAIL(store.error());
    check_nothing_is_lost(**store, acknowledged);
    CHECK(post(**store, note("Written after the cut.")));
  }
  if (checkpoint_pages == no_checkpoint) check_all_were_met(posts_cut_off);
}

TEST_CASE(
    "a power cut while what was said is indexed loses nothing, whatever reached the disk first") {
  // Begun anew, the log is written over. A disk may do that before the log's new header is there,
  // and the old header would then stand before pages that are of two rounds. So the index, whose
  // commits nobody waits for, must have that header synced too.
  const std::size_t dropped = GENERATE(1, 3, 5);
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call, dropped);
    const Folder folder;
    FailingDisk disk(Failure::power_cut, call, 1);
    Acknowledged acknowledged;
    auto options = options_for(folder, disk.name());
    options.index_after = std::chrono::milliseconds(0);
    if (auto store = Store::open(options)) {
      for (int i = 0; i < events_in_a_run; ++i) {
        const Event event = event_of(i);
        const auto outcome = post(**store, event);
        if (!outcome) break;
        acknowledged.emplace(outcome->front().seq, event);
        while (!disk.failed() && indexed_through(folder) < acknowledged.size())
          std::this_thread::yield();
      }
    }
    if (!disk.failed()) break;
    disk.restore_without(dropped);
    auto store = Store::open(options_for(folder));
    if (!store && acknowledged.empty()) continue;
    if (!store) FAIL(store.error());
    check_nothing_is_lost(**store, acknowledged);
  }
}

TEST_CASE("a single failed write or sync refuses its posts, and the next ones are taken") {
  const auto failure = GENERATE(Failure::disk_full, Failure::write_error, Failure::sync_error);
  const auto checkpoint_pages = GENERATE(often, no_checkpoint);
  const auto kind =
      failure == Failure::disk_full ? StoreFault::Kind::full : StoreFault::Kind::failing;
  std::set<int> posts_refused;
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call, checkpoint_pages);
    const Folder folder;
    FailingDisk disk(failure, call, 1);
    Acknowledged acknowledged;
    {
      auto store = Store::open(options_for(folder, disk.name(), checkpoint_pages));
      if (!store) continue;  // it failed while the file was made, and said so
      for (int i = 0; i < events_in_a_run; ++i) {
        const Event event = event_of(i);
        auto outcome = post(**store, event);
        if (!outcome) {
          posts_refused.insert(i);
          REQUIRE(outcome.error().kind == kind);
          outcome = post(**store, event);
        }
        if (!outcome) FAIL(outcome.error().what);
        REQUIRE_FALSE(outcome->front().again);
        acknowledged.emplace(outcome->front().seq, event);
      }
      REQUIRE(acknowledged.size() == events_in_a_run);
      check_nothing_is_lost(**store, acknowledged);
      REQUIRE_FALSE((*store)->write_fault());
    }
    // The fault may also have come while the store was closed.
    const auto store = Store::open(options_for(folder));
    REQUIRE(store);
    check_nothing_is_lost(**store, acknowledged);
    if (!disk.failed()) break;
  }
  if (checkpoint_pages == no_checkpoint) check_all_were_met(posts_refused);
}

/// A fault that has not come yet may also meet a read or a search, and no other.
void let_it_fail_here(const Store& store) {
  for (Sequence seq = 0; const auto page = store.read(seq, ~Sequence{0}, 1, ','); ++seq)
    if (page->count == 0) break;
  (void)store.search("note", 1'000, ',');
}

TEST_CASE("a single failed read is an answer, and the store goes on") {
  const auto checkpoint_pages = GENERATE(often, no_checkpoint);
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call, checkpoint_pages);
    const Folder folder;
    Acknowledged acknowledged;
    {
      auto store = Store::open(options_for(folder));
      for (int i = 0; i < 3; ++i) acknowledged.emplace(i + 1, event_of(i));
      for (const auto& [seq, event] : acknowledged)
        REQUIRE(post(**store, event)->front().seq == seq);
    }
    FailingDisk disk(Failure::read_error, call, 1);
    auto options = options_for(folder, disk.name(), checkpoint_pages);
    options.open_again_after = std::chrono::milliseconds(0);
    auto store = Store::open(options);
    if (!store) continue;  // and the person on duty is told
    const auto posted = [&](const Event& event) {
      auto outcome = post(**store, event);
      if (!outcome) outcome = post(**store, event);
      if (!outcome) FAIL(outcome.error().what);
      return outcome->front();
    };
    for (int i = 3; i < events_in_a_run; ++i) {
      const Event event = event_of(i);
      const Placed placed = posted(event);
      REQUIRE_FALSE(placed.again);
      acknowledged.emplace(placed.seq, event);
      REQUIRE(posted(acknowledged.at(2)).seq == 2);  // which is read for that
    }
    REQUIRE(acknowledged.size() == events_in_a_run);
    let_it_fail_here(**store);
    disk.mend();  // what goes on beside this may not have come so far
    // The index gets over it too.
    while (checkpoint_pages == often && indexed_through(folder) < events_in_a_run)
      std::this_thread::yield();
    check_nothing_is_lost(**store, acknowledged);
    if (!disk.failed()) break;
  }
}

TEST_CASE(
    "a store opened again after a fault may fail in that too, at any call, and then is opened") {
  const auto [first, then] = GENERATE(table<Failure, Failure>({
      {Failure::disk_full, Failure::disk_full},
      {Failure::write_error, Failure::write_error},
      {Failure::sync_error, Failure::sync_error},
      {Failure::read_error, Failure::read_error},
  }));
  const Event stands = note("Note on the rim.");
  std::string line;
  {
    const Folder other;
    auto store = Store::open(options_for(other));
    REQUIRE(post(**store, stands));
    line = (*store)->read(0, 1, 1, '\n')->text;
  }
  int failed_again = 0;
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(static_cast<int>(first), call);
    const Folder folder;
    make_first_layout(folder / "store", {stands}, line, "Note on the rim.");
    FailingDisk disk(first, 1, 1);
    auto options = options_for(folder, disk.name(), no_checkpoint);
    options.open_again_after = std::chrono::milliseconds(0);
    auto store = Store::open(options);
    REQUIRE(disk.failed());
    if (!store) break;  // a first page that can not be read is no store
    REQUIRE((*store)->write_fault());
    disk.fail_again(call);
    Event more = note("Note posted until it stands.");
    PostOutcome outcome;
    int refused = 0;
    while (!(outcome = post(**store, more))) REQUIRE(++refused < 3);
    failed_again += refused;
    CHECK(outcome->front().seq == 2);
    CHECK_FALSE((*store)->write_fault());
    let_it_fail_here(**store);
    disk.mend();  // what goes on beside this may not have come so far
    check_nothing_is_lost(**store, {{1, stands}, {2, more}});
    if (!disk.failed()) break;
  }
  if (first != Failure::read_error) CHECK(failed_again > 0);
}

TEST_CASE("a store that can not be brought up to date is read, and is written once it can") {
  const Folder folder;
  const Event stands = note("Basalt on the rim.");
  std::string line;
  {
    const Folder other;
    auto store = Store::open(options_for(other));
    REQUIRE(post(**store, stands));
    line = (*store)->read(0, 1, 1, '\n')->text;
  }
  make_first_layout(folder / "store", {stands}, line, "Basalt on the rim.");
  const FailingDisk disk(Failure::disk_full, 1, 1);
  auto store = Store::open(options_for(folder, disk.name(), no_checkpoint));
  REQUIRE(store);
  REQUIRE(disk.failed());
  CHECK((*store)->write_fault()->kind == StoreFault::Kind::full);
  CHECK((*store)->read(0, 1, 1, '\n')->text == line);
  CHECK((*store)->search("basalt", 10, ',')->count == 1);
  const Event more = look(1, 2);
  const auto refused = post(**store, more);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().kind == StoreFault::Kind::full);
  SECTION("and is opened again by itself") {
    auto outcome = refused;
    while (!outcome) outcome = post(**store, more);
    CHECK(outcome->front().seq == 2);
    CHECK(post(**store, stands)->front().again);
    CHECK((*store)->search("basalt", 10, ',')->count == 1);
    CHECK_FALSE((*store)->write_fault());
  }
  SECTION("or is closed while it is shut, with what waits answered") {
    std::promise<bool> answered;
    (*store)->post({draft_of(more)},
                   [&](const PostOutcome& outcome) { answered.set_value(outcome.has_value()); });
    store->reset();
    CHECK_FALSE(answered.get_future().get());
    CHECK(Store::open(options_for(folder)).value()->newest() == 1);
  }
}

}  // namespace
}  // namespace stonecall::server
