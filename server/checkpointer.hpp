#pragma once

#include <condition_variable>
#include <memory>
#include <mutex>
#include <thread>

#include <SQLiteCpp/SQLiteCpp.h>

namespace stonecall::server {

/// Keeps SQLite's write-ahead log short, so that it is written over and over in place: syncing a
/// file that does not grow costs the disk least. Past a bound the log is copied into the database
/// beside the commits, by a thread and over a connection of its own; what was committed meanwhile
/// is then copied between two commits, and with nothing left to copy SQLite begins the log anew.
class Checkpointer {
 public:
  /// `own` is for the copying beside the commits; `writer` is the connection of the commits, and
  /// outlives this. `pages` of the log are the bound.
  Checkpointer(std::unique_ptr<SQLite::Database> own, SQLite::Database& writer, int pages);
  ~Checkpointer();
  Checkpointer(const Checkpointer&) = delete;
  Checkpointer& operator=(const Checkpointer&) = delete;

  /// On the writer's thread, after a commit that left so many pages in the log.
  void after_commit(int pages);

 private:
  enum class Copying { none, due, done };

  void copy();

  std::unique_ptr<SQLite::Database> own_;
  SQLite::Database& writer_;
  const int bound_;
  int next_at_;
  int pages_ = 0;

  std::mutex mutex_;
  std::condition_variable wake_;
  Copying copying_ = Copying::none;
  int copied_ = 0;
  bool stop_ = false;
  std::thread thread_;
};

}  // namespace stonecall::server
