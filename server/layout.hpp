#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>
#include <utility>

#include <SQLiteCpp/SQLiteCpp.h>

#include "server/store.hpp"

/// How the store lies in SQLite, and how its file is opened. What throws here throws
/// SQLite::Exception.
namespace stonecall::server::layout {

inline constexpr int busy_milliseconds = 5'000;

/// How a connection is opened that is never used by two threads at once: SQLite then does without a
/// lock for each column that is read.
inline const int one_thread_at_a_time = SQLite::OPEN_NOMUTEX;

/// `user_version` of the file: 0 for a database that no store was made in yet.
int version_of(SQLite::Database& db);

/// Makes the tables in an empty database; brings those of an older version up to date.
void prepare(SQLite::Database& db);

/// The last event's number, 0 if there is none.
Sequence newest_in(SQLite::Database& db);

/// Whether a commit waits for the disk.
enum class Commit { synced, unsynced };

/// A connection that writes, and leaves copying the log to others; null if SQLite may only read the
/// file.
std::unique_ptr<SQLite::Database> connect_for_writing(const StoreOptions& options, Commit commit);

/// Makes the write-ahead log long enough for so many pages before they come: what overwrites it in
/// place is one write to the disk, what makes a file longer also one of the file's length. Zeros
/// are no part of the log. As far as there is room.
void lay_out_log(SQLite::Database& db, int pages);

/// Name and flags of a read-only connection that could read at least the version. A store on a
/// read-only medium whose log was closed cleanly has no shared-memory file and can get none, nor on
/// a full disk; SQLite then has to be told that nothing changes under it.
std::pair<std::string, int> name_for_reading(const std::filesystem::path& file);

/// What went wrong, for the person on duty. `handle` may be null.
StoreFault fault_of(const SQLite::Exception& error, sqlite3* handle);

/// To throw where an event is not there that has to be: the numbers run without gaps.
SQLite::Exception missing(Sequence seq);

/// Whether the file could not be written to, which may pass.
bool cannot_write(const SQLite::Exception& error);

/// The column's bytes, without a copy; gone with the row.
std::string_view text_of(const SQLite::Column& column);

std::string_view bytes_of(const SQLite::Column& column);  ///< of a blob, likewise

/// What bears out an event's bytes: the CRC-32 (ISO 3309) of the 16 bytes of its id, then its line.
std::uint32_t sum_of(std::string_view id, std::string_view line);

/// The columns `seq, id, line, sum` of the table `events`, to select; a layout without sums has
/// NULL there.
std::string event_columns(SQLite::Database& db);

/// A row of those columns; gone with the row.
struct Row {
  explicit Row(SQLite::Statement& row);
  Sequence seq;
  std::string_view id, line;
  bool sound = false;  ///< its sum bears it out, or none was kept
};

/// What is served in place of an event that is not sound: one of the kind "damaged" with the same
/// number and id, at the time the one before was received, with what is left of the line.
std::string stand_in(SQLite::Database& db, const Row& row);

}  // namespace stonecall::server::layout
