#include "server/checkpointer.hpp"

#include <utility>

#include <spdlog/spdlog.h>
#include <sqlite3.h>

namespace stonecall::server {
namespace {

// Past so many times the bound the commits wait for the copying, so that the log cannot grow for
// ever.
constexpr int stop_and_copy_times = 16;

/// How many of the log's pages are in the database now.
int copy_over(SQLite::Database& db) {
  int copied = 0;
  const int code = sqlite3_wal_checkpoint_v2(db.getHandle(), nullptr, SQLITE_CHECKPOINT_PASSIVE,
                                             nullptr, &copied);
  if (code != SQLITE_OK && code != SQLITE_BUSY) {
    spdlog::warn("store: could not copy the write-ahead log into the file: {}",
                 sqlite3_errstr(code));
  }
  return copied;
}

}  // namespace

Checkpointer::Checkpointer(std::unique_ptr<SQLite::Database> own, SQLite::Database& writer,
                           int pages)
    : own_(std::move(own)), writer_(writer), bound_(pages), next_at_(pages) {
  thread_ = std::thread([this] { copy(); });
}

Checkpointer::~Checkpointer() {
  {
    const std::lock_guard lock(mutex_);
    stop_ = true;
  }
  wake_.notify_all();
  thread_.join();
}

void Checkpointer::after_commit(int pages) {
  if (pages < pages_) next_at_ = bound_;  // the log began anew
  pages_ = pages;
  if (pages < bound_) return;
  Copying copying;
  int copied = 0;
  {
    const std::lock_guard lock(mutex_);
    copying = copying_;
    copied = copied_;
    if (copying == Copying::done) copying_ = Copying::none;
    if (copying == Copying::none && pages >= next_at_) copying_ = Copying::due;
  }
  if (copying == Copying::done) {
    // A reader that is at an older state keeps the log from beginning anew; then it grows on.
    next_at_ = pages + bound_;
    if (pages > copied) copy_over(writer_);
  } else if (copying == Copying::none) {
    wake_.notify_one();
  } else if (pages >= bound_ * stop_and_copy_times) {
    copy_over(writer_);
  }
}

void Checkpointer::copy() {
  for (;;) {
    {
      std::unique_lock lock(mutex_);
      wake_.wait(lock, [&] { return stop_ || copying_ == Copying::due; });
      if (stop_) return;
    }
    const int copied = copy_over(*own_);
    const std::lock_guard lock(mutex_);
    copying_ = Copying::done;
    copied_ = copied;
  }
}

}  // namespace stonecall::server
