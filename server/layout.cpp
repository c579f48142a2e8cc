#include "server/layout.hpp"

#include <algorithm>
#include <cerrno>
#include <system_error>

#include <libdeflate.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>

#include "protocol/event.hpp"
#include "server/said_index.hpp"

namespace stonecall::server::layout {
namespace {

// The index of what was said runs behind the events: `indexed` is the number it has come to. That
// an id stands once is the writer's business (it is the only one): a UNIQUE index would touch a
// page of its own for each event of a commit, since ids are random.
constexpr const char* tables = R"(
  CREATE TABLE events(
    seq  INTEGER PRIMARY KEY,
    id   BLOB NOT NULL,
    line TEXT NOT NULL,
    sum  INTEGER);
)";
constexpr int first_with_sums = 3;
// Bytes: as many as fit into a text when each stands for a sign of three.
constexpr std::size_t shown_of_damaged = protocol::Limits::text_bytes / 3;
constexpr const char* indexed = R"(
  CREATE TABLE indexed(through INTEGER NOT NULL);
  INSERT INTO indexed SELECT ifnull(max(seq), 0) FROM events;
)";

StoreFault fault_of(int code, int system_error, const std::string& message) {
  using Kind = StoreFault::Kind;
  switch (code & 0xff) {
    case SQLITE_FULL:
      return {Kind::full, "the store cannot grow: no space left (" + message + ")"};
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return {Kind::read_only, "the store is read-only (" + message + ")"};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {Kind::corrupt, "the store is damaged (" + message + ")"};
    case SQLITE_CANTOPEN:
      return {Kind::failing, "the store cannot be opened (" + message + ")"};
    default:
      break;
  }
  if (system_error == ENOSPC || system_error == EDQUOT || system_error == EFBIG) {
    return {Kind::full, "the store cannot grow: " + std::generic_category().message(system_error)};
  }
  if (system_error == EROFS) return {Kind::read_only, "the store is on a read-only file system"};
  return {Kind::failing, "the store does not answer: " + message};
}

/// The file of the write-ahead log; null where there is none.
sqlite3_file* log_of(sqlite3* handle) {
  sqlite3_file* log = nullptr;
  const int code = sqlite3_file_control(handle, "main", SQLITE_FCNTL_JOURNAL_POINTER, &log);
  return code == SQLITE_OK && log && log->pMethods ? log : nullptr;
}

/// What the system said when a call failed. sqlite3_system_errno() is not told of a COMMIT that
/// fails, so the file of the write-ahead log is asked as well.
int system_error_of(sqlite3* handle) {
  if (const int known = sqlite3_system_errno(handle)) return known;
  int system_error = 0;
  if (sqlite3_file* log = log_of(handle))
    log->pMethods->xFileControl(log, SQLITE_FCNTL_LAST_ERRNO, &system_error);
  return system_error;
}

/// With a sign in place of what is not UTF-8; empty if nothing is left.
std::optional<std::string> readable(std::string_view bytes) {
  using protocol::Json;
  if (bytes.empty()) return std::nullopt;
  return Json::parse(Json(bytes).dump(-1, ' ', false, Json::error_handler_t::replace))
      .get<std::string>();
}

}  // namespace

StoreFault fault_of(const SQLite::Exception& error, sqlite3* handle) {
  const bool from_system = (error.getErrorCode() & 0xff) == SQLITE_IOERR;
  // What we throw ourselves has no extended code.
  const int code =
      error.getExtendedErrorCode() < 0 ? error.getErrorCode() : error.getExtendedErrorCode();
  return fault_of(code, handle && from_system ? system_error_of(handle) : 0, error.what());
}

SQLite::Exception missing(Sequence seq) {
  return {"event " + std::to_string(seq) + " is missing", SQLITE_CORRUPT};
}

int version_of(SQLite::Database& db) {
  return db.execAndGet("PRAGMA user_version").getInt();
}

std::string_view text_of(const SQLite::Column& column) {
  return {column.getText(""), static_cast<std::size_t>(column.getBytes())};
}

std::string_view bytes_of(const SQLite::Column& column) {
  return {static_cast<const char*>(column.getBlob()), static_cast<std::size_t>(column.getBytes())};
}

std::uint32_t sum_of(std::string_view id, std::string_view line) {
  return libdeflate_crc32(libdeflate_crc32(0, id.data(), id.size()), line.data(), line.size());
}

std::string event_columns(SQLite::Database& db) {
  return version_of(db) < first_with_sums ? "seq, id, line, NULL" : "seq, id, line, sum";
}

Row::Row(SQLite::Statement& row)
    : seq(static_cast<Sequence>(row.getColumn(0).getInt64())),
      id(bytes_of(row.getColumn(1))),
      line(text_of(row.getColumn(2))) {
  const SQLite::Column sum = row.getColumn(3);
  sound = sum.isNull() || sum.getInt64() == sum_of(id, line);
}

std::string stand_in(SQLite::Database& db, const Row& row) {
  protocol::Event event;
  std::copy_n(row.id.begin(), std::min(row.id.size(), event.id.size()), event.id.begin());
  event.from = "server";
  event.seq = row.seq;
  event.body = protocol::Damaged{readable(row.line.substr(0, shown_of_damaged))};
  SQLite::Statement before(
      db, "SELECT " + event_columns(db) + " FROM events WHERE seq < ? ORDER BY seq DESC");
  before.bind(1, static_cast<std::int64_t>(row.seq));
  while (before.executeStep()) {
    const Row other(before);
    if (!other.sound) continue;
    const auto known = protocol::parse_event(other.line);
    if (!known || !known->received) continue;
    event.at = *known->received;
    break;
  }
  event.received = event.at;
  return to_line(event);
}

std::unique_ptr<SQLite::Database> connect_for_writing(const StoreOptions& options, Commit commit) {
  auto db = std::make_unique<SQLite::Database>(
      options.file.string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE | one_thread_at_a_time,
      busy_milliseconds, options.vfs);
  if (sqlite3_db_readonly(db->getHandle(), "main") == 1)
    return nullptr;  // SQLite falls back by itself
  db->exec("PRAGMA journal_mode=WAL");
  // Never OFF: begun anew, the log has to reach the disk before what is written over it.
  db->exec(commit == Commit::synced ? "PRAGMA synchronous=FULL" : "PRAGMA synchronous=NORMAL");
  db->exec("PRAGMA wal_autocheckpoint=0");
  if (options.max_pages > 0) db->exec("PRAGMA max_page_count=" + std::to_string(options.max_pages));
  return db;
}

void lay_out_log(SQLite::Database& db, int pages) {
  constexpr std::int64_t header_bytes = 32, frame_header_bytes = 24;
  sqlite3_file* log = log_of(db.getHandle());
  sqlite3_int64 size = 0;
  if (!log || log->pMethods->xFileSize(log, &size) != SQLITE_OK) return;
  const std::int64_t frame_bytes =
      frame_header_bytes + db.execAndGet("PRAGMA page_size").getInt64();
  const std::int64_t wanted = header_bytes + pages * frame_bytes;
  const std::string zeros(64 * 1024, '\0');  // SQLite writes no more than 128 KiB at once
  while (size < wanted) {
    const auto part =
        std::min<std::int64_t>(static_cast<std::int64_t>(zeros.size()), wanted - size);
    if (log->pMethods->xWrite(log, zeros.data(), static_cast<int>(part), size) != SQLITE_OK) return;
    size += part;
  }
  log->pMethods->xSync(log, SQLITE_SYNC_NORMAL);
}

std::pair<std::string, int> name_for_reading(const std::filesystem::path& file) {
  const std::string plain = file.string();
  try {
    SQLite::Database db(plain, SQLite::OPEN_READONLY, busy_milliseconds);
    version_of(db);
    return {plain, SQLite::OPEN_READONLY};
  } catch (const SQLite::Exception&) {
    std::error_code absent;
    const auto in_log = std::filesystem::file_size(plain + "-wal", absent);
    if (!absent && in_log > 0) {
      throw SQLite::Exception("events of it stand in " + plain +
                                  "-wal, and to read that a file has to be made beside it: copy "
                                  "both to where that is allowed",
                              SQLITE_CANTOPEN);
    }
    std::string name = "file:";
    for (const char c : std::filesystem::absolute(file).string()) {
      if (c == '%' || c == '?' || c == '#') {
        static constexpr char digits[] = "0123456789ABCDEF";
        name += {'%', digits[(c >> 4) & 15], digits[c & 15]};
      } else {
        name += c;
      }
    }
    name += "?immutable=1";
    SQLite::Database db(name, SQLite::OPEN_READONLY | SQLite::OPEN_URI, busy_milliseconds);
    version_of(db);
    return {name, SQLite::OPEN_READONLY | SQLite::OPEN_URI};
  }
}

void prepare(SQLite::Database& db) {
  SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
  const int version = version_of(db);
  if (version >= store_version) return;
  if (version == 0) {
    db.exec(tables);
    db.exec(make_said_index("said"));
    db.exec(indexed);
  } else if (version == 1) {
    db.exec("ALTER TABLE events RENAME TO events_1");
    db.exec(tables);
    db.exec("INSERT INTO events(seq, id, line) SELECT seq, id, line FROM events_1 ORDER BY seq");
    db.exec("DROP TABLE events_1");
    db.exec(indexed);
  } else {
    db.exec("ALTER TABLE events ADD COLUMN sum INTEGER");
  }
  if (version > 0) spdlog::info("store: brought from layout {} to {}", version, store_version);
  db.exec("PRAGMA user_version=" + std::to_string(store_version));
  transaction.commit();
}

bool cannot_write(const SQLite::Exception& error) {
  const int code = error.getErrorCode();
  return code == SQLITE_READONLY || code == SQLITE_CANTOPEN || code == SQLITE_FULL ||
         code == SQLITE_IOERR;
}

Sequence newest_in(SQLite::Database& db) {
  return static_cast<Sequence>(db.execAndGet("SELECT ifnull(max(seq), 0) FROM events").getInt64());
}

}  // namespace stonecall::server::layout
