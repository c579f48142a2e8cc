#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <tl/expected.hpp>

#include "protocol/event.hpp"
#include "protocol/time.hpp"

namespace stonecall::server {

using Sequence = std::uint64_t;  ///< an event's `seq`; 0 stands for "before the first"

/// An event ready to be stored: its canonical JSON, cut open where the server's own members go.
struct Draft {
  protocol::Uuid id{};
  protocol::Instant at{};
  std::string head;  ///< `{"id":…,"kind":…,"at":…,"from":…`
  std::string tail;  ///< `,"text":…` and so on, up to but not including the last `}`
  std::optional<protocol::Timestamp>
      received;  ///< only when a log is played; else the store's clock

  /// Of an amend or a retract by somebody who may not change everything.
  struct Change {
    protocol::Uuid target{};
    /// Asked with the kind of what stands under the target (and of what that changes in turn):
    /// why not, or nothing. Called on the committing thread.
    std::function<std::string(std::string_view kind)> objection;
  };
  std::optional<Change> change;
};

/// Drops what only a server gives (seq, received, clock_off) and writes the rest canonically.
Draft draft_of(protocol::Event event);

/// Events next to each other in the store, as text: canonical JSON objects with one separator
/// between two.
struct Page {
  Sequence first = 0;
  Sequence last = 0;
  std::size_t count = 0;
  std::string text;
};

/// Puts an event, as its line, behind those of the page.
void append(Page& page, Sequence seq, std::string_view line, char separator);

/// Why the store could not do what was asked. Nothing of the request was stored.
struct StoreFault {
  enum class Kind { full, read_only, corrupt, newer_version, busy, stopping, failing };
  Kind kind = Kind::failing;
  std::string what;  ///< one sentence for the person on duty
};

/// What became of one event.
struct Placed {
  Sequence seq = 0;     ///< where it stands; 0 if refused
  bool again = false;   ///< it stood there already
  std::string refused;  ///< why not, if refused
};

using PostOutcome = tl::expected<std::vector<Placed>, StoreFault>;

struct StoreOptions {
  std::filesystem::path file;
  std::function<protocol::Timestamp()> clock;  ///< called on the committing thread, once a commit
  /// Called on the committing thread after each commit that stored something, before the posts in
  /// it are answered, with the new events in order. Text is separated by commas.
  std::function<void(std::vector<Page>)> on_commit = [](auto&&) {};
  /// Asks to have commit_waiting() called soon, on another thread than the store's own: while posts
  /// are few and the disk is quick, waking two threads for each costs more than the commit. Called
  /// within post(). Empty: the store's own thread commits all.
  std::function<void()> commit_soon;
  std::chrono::milliseconds quick_commit{1};     ///< one that takes less holds nobody up
  std::size_t waiting_events = 16'384;           ///< past this, posts are answered "busy"
  std::size_t waiting_bytes = 64 * 1024 * 1024;  ///< the same, in bytes of JSON
  std::size_t page_bytes = 128 * 1024;  ///< a page of on_commit ends once it holds this much
  int checkpoint_pages =
      4'000;  ///< of SQLite's write-ahead log, after which it is copied into the file
  /// A pause in the posts, after which what was said is put into the search index.
  std::chrono::milliseconds index_after{2};
  /// A store that could not be opened for writing is tried again with a post, but not sooner.
  std::chrono::milliseconds open_again_after{1'000};
  std::string vfs;  ///< SQLite's name of the layer that reaches the disk; empty: the usual one
  std::uint32_t max_pages = 0;  ///< SQLite pages; 0: no limit but the disk's
};

class StoreReaders;
class StoreWriter;
struct OpenedStore;

/// The event store: one SQLite file in WAL mode with `synchronous=FULL`. One thread at a time
/// writes; all posts that wait go into one transaction and are answered after its commit, so
/// acknowledged means on disk. Each id is stored once, `seq` runs 1, 2, 3 … without gaps. Reads use
/// their own connections and go on while the store cannot be written.
class Store {
 public:
  /// Opens or creates the file. A store that can be read but not written (read-only, newer version)
  /// opens too; see write_fault(); what stands in the way is tried again as posts come. The error
  /// is a sentence saying what is wrong with which file, or that another process writes to it.
  static tl::expected<std::unique_ptr<Store>, std::string> open(StoreOptions options);

  /// Commits and answers what waits, then closes.
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// Hands events to the writer; never blocks on the disk. `done` is called once, on the committing
  /// thread (or on the caller's, if the answer is known at once), with one Placed an event in their
  /// order.
  void post(std::vector<Draft> events, std::function<void(PostOutcome)> done);

  /// Commits and answers what waits, on this thread, unless the store's own is at work, which then
  /// does. Only when asked by commit_soon.
  void commit_waiting();

  /// Events with after < seq ≤ through, in order and without a gap, until the text passes
  /// max_bytes. Blocks on the disk: not for network threads. Any thread; an empty page means there
  /// are none. Where the store is damaged, first what stands before the damage, then a fault.
  tl::expected<Page, StoreFault> read(Sequence after, Sequence through, std::size_t max_bytes,
                                      char separator) const;

  /// Events in which every one of the words was said or written, in order; no more than `most`.
  /// Blocks as read() does.
  tl::expected<Page, StoreFault> search(std::string_view words, std::size_t most,
                                        char separator) const;

  Sequence newest() const;                        ///< the last committed seq; 0 for an empty store
  std::optional<StoreFault> write_fault() const;  ///< why the last write failed, until one succeeds

  struct Counts {
    std::uint64_t commits = 0;
    std::uint64_t stored = 0;   ///< since the start of this process
    std::uint64_t again = 0;    ///< repeated posts of what stood already
    std::uint64_t refused = 0;  ///< same id, other content
    std::uint64_t failed = 0;   ///< posts that got a StoreFault
    std::uint64_t damaged = 0;  ///< events read whose bytes were not those that were stored
    std::size_t waiting = 0;    ///< events waiting for a commit now
  };
  Counts counts() const;

 private:
  class Lock;
  Store();
  static tl::expected<OpenedStore, StoreFault> open_for_writing(const StoreOptions& options);
  tl::expected<OpenedStore, StoreFault> open_again(const StoreOptions& options);
  std::unique_ptr<Lock> lock_;  ///< goes last
  std::unique_ptr<StoreReaders> readers_;
  std::unique_ptr<StoreWriter> writer_;
};

/// The version of the store's layout that this program writes.
inline constexpr int store_version = 3;

std::string_view to_string(StoreFault::Kind kind);

}  // namespace stonecall::server
