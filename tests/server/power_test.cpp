#include <future>
#include <map>

#include <catch2/catch.hpp>

#include "server/store.hpp"
#include "tests/server/exercise.hpp"
#include "tests/server/failing_disk.hpp"

namespace stonecall::server {
namespace {

using namespace tests;
using protocol::Event;
using Failure = FailingDisk::Failure;

StoreOptions options_for(const Folder& folder, const std::string& vfs = {}) {
  StoreOptions options;
  options.file = folder / "store";
  options.clock = [] { return time_of("2027-05-18T09:10:00.250+02:00"); };
  options.vfs = vfs;
  options.checkpoint_pages =
      12;  // so that a short run has copied its log into the file several times
  return options;
}

PostOutcome post(Store& store, const Event& event) {
  std::promise<PostOutcome> outcome;
  store.post({draft_of(event)}, [&](PostOutcome result) { outcome.set_value(std::move(result)); });
  return outcome.get_future().get();
}

using Acknowledged = std::map<Sequence, Event>;

void check_nothing_is_lost(const Store& store, const Acknowledged& acknowledged) {
  Sequence seq = 0;
  for (;;) {
    const auto page = store.read(seq, ~Sequence{0}, 1, ',');
    REQUIRE(page);
    if (page->count == 0) break;
    REQUIRE(page->first == seq + 1);
    const auto event = protocol::parse_event(page->text);
    REQUIRE(event);
    if (const auto found = acknowledged.find(page->first); found != acknowledged.end()) {
      REQUIRE(same_as_sent(*event, found->second));
    }
    seq = page->last;
  }
  REQUIRE(seq >= (acknowledged.empty() ? 0 : acknowledged.rbegin()->first));
}

constexpr int events_in_a_run = 12;

TEST_CASE("a power cut at any write or sync loses nothing that was acknowledged") {
  const auto seed = GENERATE(1u, 2u);
  int cuts = 0;
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call, seed);
    const Folder folder;
    FailingDisk disk(Failure::power_cut, call, seed);
    Acknowledged acknowledged;
    if (auto store = Store::open(options_for(folder, disk.name()))) {
      for (int i = 0; i < events_in_a_run; ++i) {
        const Event event = i % 2 == 0 ? note("Note " + std::to_string(i)) : look(i, 1);
        const auto outcome = post(**store, event);
        if (!outcome) break;
        acknowledged.emplace(outcome->front().seq, event);
      }
    }
    if (!disk.failed()) break;
    disk.restore();
    ++cuts;
    // What was never acknowledged may be there or not; a file cut short while it was being made may
    // have to be made anew.
    auto store = Store::open(options_for(folder));
    if (!store && acknowledged.empty()) continue;
    if (!store) FAIL(store.error());
    check_nothing_is_lost(**store, acknowledged);
    CHECK(post(**store, note("After the cut.")));
  }
  CHECK(cuts > 50);
}

TEST_CASE("a single failed write or sync refuses its posts, and the next ones are taken") {
  const auto failure = GENERATE(Failure::disk_full, Failure::write_error, Failure::sync_error);
  int failures = 0;
  for (std::uint64_t call = 1;; ++call) {
    CAPTURE(call);
    const Folder folder;
    FailingDisk disk(failure, call, 1);
    {
      auto store = Store::open(options_for(folder, disk.name()));
      if (!store) continue;  // it failed while the file was made, and said so
      Acknowledged acknowledged;
      for (int i = 0; i < events_in_a_run; ++i) {
        const Event event = i % 2 == 0 ? note("Note " + std::to_string(i)) : look(i, 1);
        auto outcome = post(**store, event);
        if (!outcome) outcome = post(**store, event);
        if (!outcome) FAIL(outcome.error().what);
        acknowledged.emplace(outcome->front().seq, event);
      }
      REQUIRE(acknowledged.size() == events_in_a_run);
      check_nothing_is_lost(**store, acknowledged);
      REQUIRE_FALSE((*store)->write_fault());
    }
    if (!disk.failed()) break;
    ++failures;
  }
  CHECK(failures > 10);
}

}  // namespace
}  // namespace stonecall::server
