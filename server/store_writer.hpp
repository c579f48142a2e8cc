#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sys/stat.h>

#include "server/checkpointer.hpp"
#include "server/ids.hpp"
#include "server/said_index.hpp"
#include "server/store.hpp"

namespace stonecall::server {

/// A store opened for writing: a connection for the commits, one to copy their log with, and one
/// for the index of what was said.
struct OpenedStore {
  std::unique_ptr<SQLite::Database> db;
  std::unique_ptr<SQLite::Database> checkpoint_db;
  std::unique_ptr<SQLite::Database> index_db;
  Sequence newest = 0;
};

/// The half of a store that writes: the queue of posts, and the thread that commits them.
class StoreWriter {
 public:
  using Counts = Store::Counts;
  using Open = std::function<tl::expected<OpenedStore, StoreFault>()>;

  /// `open` is asked again, on the writer's thread, for as long as it fails.
  StoreWriter(StoreOptions options, Open open, Sequence newest);

  ~StoreWriter();

  /// Commits and answers what waits; nothing is written, or opened again, after this.
  void stop();

  /// Nothing can be written for the whole life of this store.
  void refuse_all(StoreFault fault);

  void start(tl::expected<OpenedStore, StoreFault> opened);

  void post(std::vector<Draft> events, std::function<void(PostOutcome)> done);

  void commit_waiting();

  Sequence newest() const { return newest_.load(std::memory_order_acquire); }

  std::optional<StoreFault> fault() const;

  Counts counts() const;

 private:
  using Steady = std::chrono::steady_clock;

  struct Statements;

  struct Waiting {
    std::vector<Draft> events;
    std::function<void(PostOutcome)> done;
    std::size_t bytes = 0;
  };

  /// Which file stands under a name: one that was removed can still be written to, and is lost.
  class Standing {
   public:
    explicit Standing(std::string name) : name_(std::move(name)) { ::stat(name_.c_str(), &stood_); }

    bool still() const {
      struct stat now {};
      return ::stat(name_.c_str(), &now) == 0 && now.st_dev == stood_.st_dev &&
             now.st_ino == stood_.st_ino;
    }
    const std::string& name() const { return name_; }

   private:
    std::string name_;
    struct stat stood_ {};
  };

  /// What one transaction did, kept back until it is committed.
  struct Work {
    std::vector<std::vector<Placed>> placed;
    std::vector<Page> pages;
    Counts counts;
    Sequence newest = 0;
  };

  void write();

  /// Commits and answers what waits, or the first 4 MiB of it.
  void commit_some();

  /// Somebody has tidied up under a running server: what would be written now nobody could find.
  std::optional<StoreFault> gone();

  /// Throws what SQLite throws, and then nothing has changed.
  void adopt(OpenedStore opened);

  /// What stood in the way may be gone by now: room on a disk that was full, a medium that may be
  /// written.
  tl::expected<void, StoreFault> be_open();

  tl::expected<Work, StoreFault> commit(const std::vector<Waiting>& group);

  /// Before the first post, which then need not wait for it; a fault shows again there.
  void prepare();

  /// Those that stand in the store already, or were put there by another while it was not ours.
  void learn_ids();

  Placed place(const Draft& draft, const protocol::Timestamp& now, const std::string& now_text,
               Work& work);

  /// Why what a change comes to in the end may not be changed. What does not stand yet can be.
  std::string objection(const Draft::Change& change, Sequence before);

  Placed placed_before(const Draft& draft, Sequence seq, Work& work);

  /// How long to wait for posts before something else is done.
  std::chrono::milliseconds pause();

  void index_if_quiet();

  /// A fault here is no fault of a post, and a search does without.
  void index();

  void after_commit();

  StoreOptions options_;
  Open open_;

  std::mutex working_;  ///< held by the thread that commits or indexes; taken before `mutex_`
  Steady::time_point open_again_at_;
  std::unique_ptr<SQLite::Database> db_;
  std::unique_ptr<Statements> statements_;  ///< of `db_`
  std::unique_ptr<SQLite::Database> index_db_;
  std::unique_ptr<SaidIndexer> indexer_;  ///< over `index_db_`
  Steady::time_point index_again_at_;
  std::unique_ptr<Checkpointer> checkpointer_;
  Ids ids_;
  Sequence ids_through_ = 0;  ///< the last event whose id is known
  std::atomic<Sequence> newest_;
  int log_pages_ = 0;
  std::vector<Standing> files_;  ///< of the store, once it has them
  Steady::time_point look_again_at_;
  Steady::time_point last_commit_;

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<Waiting> queue_;
  std::size_t waiting_events_ = 0;
  std::size_t waiting_bytes_ = 0;
  bool stopping_ = false;
  bool asked_ = false;   ///< for commit_waiting(), which has not come yet
  bool dozing_ = false;  ///< the store's own thread sees nothing to do
  bool upkeep_ = false;  ///< it has something to do besides posts
  int quick_in_a_row_ = 0;
  bool lasting_fault_ = false;
  std::optional<StoreFault> fault_;
  Counts counts_;

  std::thread thread_;
};

}  // namespace stonecall::server
