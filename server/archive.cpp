#include "server/archive.hpp"

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <future>
#include <memory>
#include <system_error>
#include <utility>
#include <vector>

#include <SQLiteCpp/Backup.h>
#include <SQLiteCpp/SQLiteCpp.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>
#include <unistd.h>

#include "protocol/log.hpp"
#include "server/layout.hpp"

namespace stonecall::server {
namespace {

namespace fs = std::filesystem;

constexpr int busy_milliseconds = 10'000;
constexpr std::size_t events_at_once = 500;

tl::unexpected<std::string> failed(const fs::path& file, const std::string& why) {
  return tl::unexpected(file.string() + ": " + why);
}

std::string why_not(int system_error) {
  return std::generic_category().message(system_error);
}

/// Only a file that does not exist yet is written, and under another name until it is whole.
fs::path unfinished(const fs::path& file) {
  return file.string() + ".unfinished";
}

Copied finish(const fs::path& file, Sequence count) {
  std::error_code error;
  fs::rename(unfinished(file), file, error);
  if (error) return failed(file, error.message());
  return count;
}

SQLite::Database open_to_read(const fs::path& store) {
  SQLite::Database db(store.string(), SQLite::OPEN_READONLY, busy_milliseconds);
  const int version = db.execAndGet("PRAGMA user_version").getInt();
  if (version < 1 || version > store_version) {
    throw SQLite::Exception("not an event store that this program reads (version " +
                            std::to_string(version) + ")");
  }
  return db;
}

/// `copy` writes the unfinished file and answers how many events are in it.
template <class Copy>
Copied copy_store(const fs::path& store, const fs::path& to, Copy&& copy) {
  std::error_code ignored;
  if (fs::exists(to, ignored)) return failed(to, "is there already");
  fs::remove(unfinished(to), ignored);
  try {
    SQLite::Database from = open_to_read(store);
    Copied copied = copy(from);
    if (copied) return finish(to, *copied);
    fs::remove(unfinished(to), ignored);
    return copied;
  } catch (const SQLite::Exception& error) {
    fs::remove(unfinished(to), ignored);
    return failed(store, error.what());
  }
}

Copied count_events(SQLite::Database& db) {
  return static_cast<Sequence>(db.execAndGet("SELECT count(*) FROM events").getInt64());
}

struct Close {
  void operator()(std::FILE* file) const { std::fclose(file); }
};

Copied write_lines(SQLite::Database& db, const fs::path& to) {
  const std::unique_ptr<std::FILE, Close> out(std::fopen(unfinished(to).c_str(), "wb"));
  if (!out) return failed(to, why_not(errno));
  Sequence count = 0;
  // One statement sees one state of the store, whatever is committed meanwhile.
  SQLite::Statement rows(db, "SELECT " + layout::event_columns(db) + " FROM events ORDER BY seq");
  while (rows.executeStep()) {
    const layout::Row row(rows);
    if (!row.sound)
      spdlog::error("event {} is damaged; in its place one of the kind \"damaged\" is written",
                    row.seq);
    const std::string line = (row.sound ? std::string(row.line) : layout::stand_in(db, row)) + '\n';
    if (std::fwrite(line.data(), 1, line.size(), out.get()) != line.size())
      return failed(to, why_not(errno));
    ++count;
  }
  if (std::fflush(out.get()) != 0 || ::fsync(::fileno(out.get())) != 0)
    return failed(to, why_not(errno));
  return count;
}

PostOutcome post(Store& store, std::vector<Draft> events) {
  std::promise<PostOutcome> outcome;
  store.post(std::move(events), [&](PostOutcome result) { outcome.set_value(std::move(result)); });
  return outcome.get_future().get();
}

protocol::Timestamp now() {
  return {std::chrono::floor<protocol::Milliseconds>(std::chrono::system_clock::now()), {}};
}

}  // namespace

Copied back_up(const fs::path& store, const fs::path& to) {
  return copy_store(store, to, [&](SQLite::Database& from) -> Copied {
    constexpr int all_pages = -1;
    try {
      SQLite::Database copy(unfinished(to).string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
      if (const int code = SQLite::Backup(copy, from).executeStep(all_pages); code != SQLITE_DONE)
        return failed(to, sqlite3_errstr(code));
      // A copy that is not read as written is none.
      if (copy.execAndGet("PRAGMA quick_check").getString() != "ok")
        return failed(to, "the copy is damaged, and so perhaps is the store");
      return count_events(copy);
    } catch (const SQLite::Exception& error) {
      const int code = error.getErrorCode();
      if (code != SQLITE_FULL && code != SQLITE_CANTOPEN && code != SQLITE_READONLY) throw;
      return failed(to, error.what());  // the store was open already
    }
  });
}

Copied export_log(const fs::path& store, const fs::path& to) {
  return copy_store(store, to, [&](SQLite::Database& from) { return write_lines(from, to); });
}

Copied import_log(const fs::path& file, const fs::path& to) {
  auto log = protocol::read_log_file(file.string());
  if (!log) return failed(file, protocol::to_string(log.error()));
  if (!log->faults.empty()) return failed(file, protocol::to_string(log->faults.front()));
  StoreOptions options;
  options.file = to;
  options.clock = now;
  auto store = Store::open(std::move(options));
  if (!store) return tl::unexpected(store.error());
  const auto& events = log->events;
  for (std::size_t begin = 0; begin < events.size(); begin += events_at_once) {
    std::vector<Draft> drafts;
    for (std::size_t i = begin; i < std::min(begin + events_at_once, events.size()); ++i)
      drafts.emplace_back(draft_of(*events[i])).received = protocol::known_at(*events[i]);
    const PostOutcome outcome = post(**store, std::move(drafts));
    if (!outcome) return failed(to, outcome.error().what);
    for (const Placed& placed : *outcome) {
      if (!placed.refused.empty()) return failed(file, placed.refused);
    }
  }
  return static_cast<Sequence>(events.size());
}

}  // namespace stonecall::server
