#include "server/store.hpp"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <deque>
#include <limits>
#include <mutex>
#include <system_error>
#include <thread>
#include <utility>
#include <variant>

#include <SQLiteCpp/SQLiteCpp.h>
#include <fcntl.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <unistd.h>

namespace stonecall::server {
namespace {

using protocol::Event;
using protocol::Timestamp;

// A write-ahead log past the options' bound is copied into the database beside the commits; past so
// many times that the writer itself does it before it goes on, so that the log cannot grow for
// ever.
constexpr int stop_and_checkpoint_times = 16;
constexpr std::size_t transaction_bytes = 4 * 1024 * 1024;
constexpr int busy_milliseconds = 5'000;
constexpr auto day = std::chrono::hours(24);
constexpr auto open_again_after = std::chrono::seconds(1);

constexpr const char* schema = R"(
  CREATE TABLE events(
    seq  INTEGER PRIMARY KEY,
    id   BLOB NOT NULL UNIQUE,
    line TEXT NOT NULL);
  CREATE VIRTUAL TABLE said USING fts5(words, content='', tokenize="unicode61 remove_diacritics 2");
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
    default:
      break;
  }
  if (system_error == ENOSPC || system_error == EDQUOT || system_error == EFBIG) {
    return {Kind::full, "the store cannot grow: " + std::generic_category().message(system_error)};
  }
  if (system_error == EROFS) return {Kind::read_only, "the store is on a read-only file system"};
  return {Kind::failing, "the store does not answer: " + message};
}

/// What the system said when a call failed. sqlite3_system_errno() is not told of a COMMIT that
/// fails, so the file of the write-ahead log is asked as well.
int system_error_of(sqlite3* handle) {
  if (const int known = sqlite3_system_errno(handle)) return known;
  sqlite3_file* log = nullptr;
  int system_error = 0;
  if (sqlite3_file_control(handle, "main", SQLITE_FCNTL_JOURNAL_POINTER, &log) == SQLITE_OK &&
      log && log->pMethods) {
    log->pMethods->xFileControl(log, SQLITE_FCNTL_LAST_ERRNO, &system_error);
  }
  return system_error;
}

StoreFault fault_of(const SQLite::Exception& error, sqlite3* handle) {
  const bool from_system = (error.getErrorCode() & 0xff) == SQLITE_IOERR;
  return fault_of(error.getExtendedErrorCode(), handle && from_system ? system_error_of(handle) : 0,
                  error.what());
}

/// The line as stored: the server's members stand where the canonical form has them.
std::string compose(const Draft& draft, Sequence seq, const Timestamp& received,
                    const std::string& received_text) {
  std::string line;
  line.reserve(draft.head.size() + draft.tail.size() + 96);
  line.append(draft.head).append(",\"seq\":").append(std::to_string(seq));
  line.append(",\"received\":\"").append(received_text).append("\"").append(draft.tail);
  const auto apart = draft.at - received.instant;
  if (apart > day || apart < -day) line.append(",\"clock_off\":true");
  line.push_back('}');
  return line;
}

bool same_as_stored(const Draft& draft, const std::string& line) {
  const auto stored = protocol::parse_event(line);
  const auto posted = protocol::parse_event(draft.head + draft.tail + "}");
  if (!stored || !posted) return false;
  return protocol::same_content(*stored, *posted);
}

/// Each word must occur; what FTS5 would take for an operator is only a word here.
std::string all_words(std::string_view words) {
  std::string query;
  std::size_t from = 0;
  while (from < words.size()) {
    const std::size_t begin = words.find_first_not_of(" \t\r\n", from);
    if (begin == std::string_view::npos) break;
    const std::size_t end = std::min(words.find_first_of(" \t\r\n", begin), words.size());
    query += query.empty() ? "\"" : " \"";
    for (const char c : words.substr(begin, end - begin))
      query += c == '"' ? std::string("\"\"") : std::string(1, c);
    query += '"';
    from = end;
  }
  return query;
}

void append(Page& page, Sequence seq, std::string_view line, char separator) {
  if (page.count == 0)
    page.first = seq;
  else
    page.text.push_back(separator);
  page.text.append(line);
  page.last = seq;
  ++page.count;
}

int version_of(SQLite::Database& db) {
  return db.execAndGet("PRAGMA user_version").getInt();
}

struct Waiting {
  std::vector<Draft> events;
  std::function<void(PostOutcome)> done;
  std::size_t bytes = 0;
};

std::string_view text_of(const SQLite::Column& column) {
  return {column.getText(""), static_cast<std::size_t>(column.getBytes())};
}

}  // namespace

Draft draft_of(Event event) {
  const std::optional<Timestamp> received = event.received;
  event.seq.reset();
  event.received.reset();
  event.unknown.erase("clock_off");
  const protocol::Json json = protocol::to_json(event);
  protocol::Json envelope;
  for (const char* member : {"id", "kind", "at", "from"}) envelope[member] = json.at(member);
  const std::size_t cut = envelope.dump().size() - 1;
  const std::string line = json.dump();
  Draft draft{
      event.id, event.at.instant, line.substr(0, cut), line.substr(cut, line.size() - cut - 1), {},
      {}};
  draft.received = received;
  draft.said = std::visit(
      [](const auto& body) -> std::string {
        if constexpr (requires { std::string(body.text); })
          return body.text;
        else if constexpr (requires { std::string(*body.text); })
          return body.text.value_or("");
        else
          return {};
      },
      event.body);
  return draft;
}

/// Connections for reading; each serves one read at a time and is kept for the next.
class Store::Readers {
 public:
  Readers(std::string name, int flags, std::string vfs)
      : name_(std::move(name)), flags_(flags), vfs_(std::move(vfs)) {}

  struct Connection {
    Connection(const std::string& name, int flags, const std::string& vfs, int its_turn)
        : turn(its_turn), db(name, flags, busy_milliseconds, vfs) {}
    int turn;
    SQLite::Database db;
    SQLite::Statement range{db,
                            "SELECT seq, line FROM events WHERE seq > ? AND seq <= ? ORDER BY seq"};
    std::optional<SQLite::Statement> said;  // a store without the index still serves its events
  };

  /// The next reads go there; for a file that could only be read, and can now be written.
  void turn_to(std::string name, int flags) {
    const std::lock_guard lock(mutex_);
    name_ = std::move(name);
    flags_ = flags;
    idle_.clear();
    ++turns_;
  }

  template <class Use>
  tl::expected<Page, StoreFault> with(Use&& use) {
    std::unique_ptr<Connection> connection;
    try {
      connection = take();
      Page page = use(*connection);
      give_back(std::move(connection));
      return page;
    } catch (const SQLite::Exception& error) {
      // The connection goes with its error: the next read starts afresh.
      return tl::unexpected(fault_of(error, connection ? connection->db.getHandle() : nullptr));
    }
  }

 private:
  std::unique_ptr<Connection> take() {
    std::string name;
    int flags = 0;
    int turn = 0;
    {
      const std::lock_guard lock(mutex_);
      if (!idle_.empty()) {
        auto connection = std::move(idle_.back());
        idle_.pop_back();
        return connection;
      }
      name = name_;
      flags = flags_;
      turn = turns_;
    }
    return std::make_unique<Connection>(name, flags, vfs_, turn);
  }

  void give_back(std::unique_ptr<Connection> connection) {
    const std::lock_guard lock(mutex_);
    if (connection->turn == turns_) idle_.push_back(std::move(connection));
  }

  std::string name_;
  int flags_;
  std::string vfs_;
  std::mutex mutex_;
  int turns_ = 0;
  std::vector<std::unique_ptr<Connection>> idle_;
};

/// Two that write would give out the same numbers. SQLite's own locks last for a transaction only;
/// this one is held as long as the store is open, and goes with the process however it ends.
class Store::Lock {
 public:
  /// The error is what the system said: EWOULDBLOCK where another process holds it.
  static tl::expected<std::unique_ptr<Lock>, int> take(const std::filesystem::path& file) {
    const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
    if (descriptor < 0) return tl::unexpected(errno);
    std::unique_ptr<Lock> lock(new Lock(descriptor));
    if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) return tl::unexpected(errno);
    return lock;
  }
  ~Lock() { ::close(descriptor_); }
  Lock(const Lock&) = delete;
  Lock& operator=(const Lock&) = delete;

 private:
  explicit Lock(int descriptor) : descriptor_(descriptor) {}
  const int descriptor_;
};

/// A store opened for writing: one connection for the writer and one to copy its log with.
struct Store::Opened {
  std::unique_ptr<SQLite::Database> db;
  std::unique_ptr<SQLite::Database> checkpoint_db;
  Sequence newest = 0;
};

class Store::Writer {
 public:
  using Open = std::function<tl::expected<Opened, StoreFault>()>;

  /// `open` is asked again, on the writer's thread, for as long as it fails.
  Writer(StoreOptions options, Open open, Sequence newest)
      : options_(std::move(options)), open_(std::move(open)), newest_(newest) {}

  ~Writer() { stop(); }

  /// Commits and answers what waits; nothing is written, or opened again, after this.
  void stop() {
    {
      const std::lock_guard lock(mutex_);
      stopping_ = true;
    }
    wake_.notify_all();
    if (thread_.joinable()) thread_.join();
    {
      const std::lock_guard lock(checkpoint_mutex_);
      checkpoint_stop_ = true;
    }
    checkpoint_wake_.notify_all();
    if (checkpointer_.joinable()) checkpointer_.join();
  }

  /// Nothing can be written for the whole life of this store.
  void refuse_all(StoreFault fault) {
    const std::lock_guard lock(mutex_);
    lasting_fault_ = true;
    fault_ = std::move(fault);
  }

  void start(tl::expected<Opened, StoreFault> opened) {
    if (opened) {
      adopt(std::move(*opened));
    } else {
      fault_ = opened.error();
      open_again_at_ = Steady::now() + open_again_after;
    }
    thread_ = std::thread([this] { write(); });
  }

  void post(std::vector<Draft> events, std::function<void(PostOutcome)> done) {
    std::size_t bytes = 0;
    for (const Draft& draft : events) bytes += draft.head.size() + draft.tail.size();
    std::optional<StoreFault> refused;
    {
      const std::lock_guard lock(mutex_);
      if (lasting_fault_) {
        refused = fault_;
      } else if (stopping_) {
        refused = StoreFault{StoreFault::Kind::stopping, "the server is stopping"};
      } else if (waiting_events_ > 0 &&
                 (waiting_events_ + events.size() > options_.waiting_events ||
                  waiting_bytes_ + bytes > options_.waiting_bytes)) {
        refused = StoreFault{StoreFault::Kind::busy, "too many events wait for the disk"};
      } else {
        waiting_events_ += events.size();
        waiting_bytes_ += bytes;
        queue_.push_back({std::move(events), std::move(done), bytes});
      }
      if (refused) ++counts_.failed;
    }
    if (refused)
      done(tl::unexpected(*refused));
    else
      wake_.notify_one();
  }

  Sequence newest() const { return newest_.load(std::memory_order_acquire); }

  std::optional<StoreFault> fault() const {
    const std::lock_guard lock(mutex_);
    return fault_;
  }

  Counts counts() const {
    const std::lock_guard lock(mutex_);
    Counts counts = counts_;
    counts.waiting = waiting_events_;
    return counts;
  }

 private:
  struct Statements {
    explicit Statements(SQLite::Database& db)
        : insert(db,
                 "INSERT INTO events(seq, id, line) VALUES(?, ?, ?) ON CONFLICT(id) DO NOTHING"),
          insert_said(db, "INSERT INTO said(rowid, words) VALUES(?, ?)"),
          find(db, "SELECT seq, line FROM events WHERE id = ?"),
          begin(db, "BEGIN IMMEDIATE"),
          commit(db, "COMMIT") {}
    SQLite::Statement insert, insert_said, find, begin, commit;
  };

  /// What one transaction did, kept back until it is committed.
  struct Work {
    std::vector<std::vector<Placed>> placed;
    std::vector<Page> pages;
    Counts counts;
    Sequence newest = 0;
  };

  void write() {
    for (;;) {
      std::vector<Waiting> group;
      std::size_t events = 0;
      std::size_t bytes = 0;
      {
        std::unique_lock lock(mutex_);
        wake_.wait(lock, [&] { return stopping_ || !queue_.empty(); });
        if (queue_.empty()) return;
        while (!queue_.empty() &&
               (group.empty() || bytes + queue_.front().bytes <= transaction_bytes)) {
          events += queue_.front().events.size();
          bytes += queue_.front().bytes;
          group.push_back(std::move(queue_.front()));
          queue_.pop_front();
        }
      }
      auto work = commit(group);
      {
        const std::lock_guard lock(mutex_);
        waiting_events_ -= events;
        waiting_bytes_ -= bytes;
        if (work) {
          counts_.commits += 1;
          counts_.stored += work->counts.stored;
          counts_.again += work->counts.again;
          counts_.refused += work->counts.refused;
          fault_.reset();
        } else {
          counts_.failed += group.size();
          fault_ = work.error();
        }
      }
      if (work) {
        newest_.store(work->newest, std::memory_order_release);
        if (!work->pages.empty()) options_.on_commit(std::move(work->pages));
        for (std::size_t i = 0; i < group.size(); ++i) group[i].done(std::move(work->placed[i]));
      } else {
        spdlog::error("store: {} posts with {} events not stored: {}", group.size(), events,
                      work.error().what);
        for (Waiting& waiting : group) waiting.done(tl::unexpected(work.error()));
      }
      if (db_) after_commit();
    }
  }

  /// Throws what SQLite throws, and then nothing has changed.
  void adopt(Opened opened) {
    auto statements = std::make_unique<Statements>(*opened.db);
    sqlite3_wal_hook(
        opened.db->getHandle(),
        [](void* self, sqlite3*, const char*, int pages) {
          static_cast<Writer*>(self)->wal_pages_ = pages;
          return SQLITE_OK;
        },
        this);
    newest_.store(opened.newest, std::memory_order_release);
    db_ = std::move(opened.db);
    statements_ = std::move(statements);
    checkpoint_db_ = std::move(opened.checkpoint_db);
    checkpointer_ = std::thread([this] { checkpoint(); });
  }

  /// What stood in the way may be gone by now: room on a disk that was full, a medium that may be
  /// written.
  tl::expected<void, StoreFault> be_open() {
    if (db_) return {};
    if (Steady::now() < open_again_at_) return tl::unexpected(*fault());
    auto opened = open_();
    open_again_at_ = Steady::now() + open_again_after;
    if (!opened) return tl::unexpected(opened.error());
    try {
      adopt(std::move(*opened));
    } catch (const SQLite::Exception& error) {
      return tl::unexpected(fault_of(error, nullptr));
    }
    spdlog::info("store: it can be written now");
    return {};
  }

  tl::expected<Work, StoreFault> commit(const std::vector<Waiting>& group) {
    if (const auto open = be_open(); !open) return tl::unexpected(open.error());
    Work work;
    work.newest = newest();
    work.placed.reserve(group.size());
    try {
      statements_->begin.exec();
      const Timestamp now = options_.clock();
      const std::string now_text = protocol::to_string(now);
      for (const Waiting& waiting : group) {
        std::vector<Placed>& placed = work.placed.emplace_back();
        placed.reserve(waiting.events.size());
        for (const Draft& draft : waiting.events)
          placed.push_back(place(draft, now, now_text, work));
      }
      statements_->commit.exec();
      for (auto* statement : {&statements_->begin, &statements_->commit}) statement->reset();
      return work;
    } catch (const SQLite::Exception& error) {
      const StoreFault fault = fault_of(error, db_->getHandle());
      for (auto* statement : {&statements_->begin, &statements_->commit, &statements_->insert,
                              &statements_->insert_said, &statements_->find})
        statement->tryReset();
      if (sqlite3_get_autocommit(db_->getHandle()) == 0) db_->tryExec("ROLLBACK");
      return tl::unexpected(fault);
    }
  }

  Placed place(const Draft& draft, const Timestamp& now, const std::string& now_text, Work& work) {
    const Sequence seq = work.newest + 1;
    const std::string line =
        draft.received ? compose(draft, seq, *draft.received, protocol::to_string(*draft.received))
                       : compose(draft, seq, now, now_text);
    const int id_bytes = static_cast<int>(draft.id.size());
    statements_->insert.bind(1, static_cast<std::int64_t>(seq));
    statements_->insert.bindNoCopy(2, draft.id.data, id_bytes);
    statements_->insert.bindNoCopy(3, line);
    const bool is_new = statements_->insert.exec() == 1;
    statements_->insert.reset();
    if (!is_new) return placed_before(draft, work);
    if (!draft.said.empty()) {
      statements_->insert_said.bind(1, static_cast<std::int64_t>(seq));
      statements_->insert_said.bindNoCopy(2, draft.said);
      statements_->insert_said.exec();
      statements_->insert_said.reset();
    }
    if (work.pages.empty() || work.pages.back().text.size() >= options_.page_bytes)
      work.pages.emplace_back();
    append(work.pages.back(), seq, line, ',');
    work.newest = seq;
    ++work.counts.stored;
    return {seq, false, {}};
  }

  Placed placed_before(const Draft& draft, Work& work) {
    statements_->find.bindNoCopy(1, draft.id.data, static_cast<int>(draft.id.size()));
    Placed placed{0, false, "this id stands already with other content"};
    if (statements_->find.executeStep()) {
      const auto seq = static_cast<Sequence>(statements_->find.getColumn(0).getInt64());
      if (same_as_stored(draft, std::string(text_of(statements_->find.getColumn(1)))))
        placed = {seq, true, {}};
      else
        placed.refused =
            "this id stands already, as seq " + std::to_string(seq) + ", with other content";
    }
    statements_->find.reset();
    ++(placed.again ? work.counts.again : work.counts.refused);
    return placed;
  }

  void after_commit() {
    if (wal_pages_ >= options_.checkpoint_pages * stop_and_checkpoint_times) {
      // No one else writes now, so this copies everything and the log starts anew.
      sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr,
                                nullptr);
      wal_pages_ = 0;
    } else if (wal_pages_ >= options_.checkpoint_pages) {
      {
        const std::lock_guard lock(checkpoint_mutex_);
        checkpoint_due_ = true;
      }
      checkpoint_wake_.notify_one();
    }
  }

  void checkpoint() {
    for (;;) {
      {
        std::unique_lock lock(checkpoint_mutex_);
        checkpoint_wake_.wait(lock, [&] { return checkpoint_stop_ || checkpoint_due_; });
        if (checkpoint_stop_) return;
        checkpoint_due_ = false;
      }
      const int code = sqlite3_wal_checkpoint_v2(checkpoint_db_->getHandle(), nullptr,
                                                 SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
      if (code != SQLITE_OK && code != SQLITE_BUSY) {
        spdlog::warn("store: could not copy the write-ahead log into the file: {}",
                     sqlite3_errstr(code));
      }
    }
  }

  using Steady = std::chrono::steady_clock;

  StoreOptions options_;
  Open open_;
  Steady::time_point open_again_at_;
  std::unique_ptr<SQLite::Database> db_;
  std::unique_ptr<SQLite::Database> checkpoint_db_;
  std::unique_ptr<Statements> statements_;  ///< of `db_`
  std::atomic<Sequence> newest_;
  int wal_pages_ = 0;

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<Waiting> queue_;
  std::size_t waiting_events_ = 0;
  std::size_t waiting_bytes_ = 0;
  bool stopping_ = false;
  bool lasting_fault_ = false;
  std::optional<StoreFault> fault_;
  Counts counts_;

  std::mutex checkpoint_mutex_;
  std::condition_variable checkpoint_wake_;
  bool checkpoint_due_ = false;
  bool checkpoint_stop_ = false;

  std::thread thread_;
  std::thread checkpointer_;
};

namespace {

/// Null if SQLite may only read it.
std::unique_ptr<SQLite::Database> connect_for_writing(const StoreOptions& options) {
  auto db = std::make_unique<SQLite::Database>(options.file.string(),
                                               SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE,
                                               busy_milliseconds, options.vfs);
  if (sqlite3_db_readonly(db->getHandle(), "main") == 1)
    return nullptr;  // SQLite falls back by itself
  db->exec("PRAGMA journal_mode=WAL");
  db->exec("PRAGMA synchronous=FULL");
  db->exec("PRAGMA wal_autocheckpoint=0");
  if (options.max_pages > 0) db->exec("PRAGMA max_page_count=" + std::to_string(options.max_pages));
  return db;
}

/// A read-only connection that could read at least the layout. A store on a read-only medium whose
/// log was closed cleanly has no shared-memory file and can get none, nor on a full disk; SQLite
/// then has to be told that nothing changes under it.
std::pair<std::string, int> name_for_reading(const std::filesystem::path& file) {
  const std::string plain = file.string();
  try {
    SQLite::Database db(plain, SQLite::OPEN_READONLY, busy_milliseconds);
    version_of(db);
    return {plain, SQLite::OPEN_READONLY};
  } catch (const SQLite::Exception&) {
    std::error_code absent;
    const auto in_log = std::filesystem::file_size(plain + "-wal", absent);
    if (!absent && in_log > 0) throw;
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

void create_layout(SQLite::Database& db) {
  SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
  if (version_of(db) == 0) {
    db.exec(schema);
    db.exec("PRAGMA user_version=" + std::to_string(store_version));
  }
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

}  // namespace

Store::Store() = default;
Store::~Store() {
  // The writer may open the store again and turn the readers to it, so it ends before they do; the
  // last connection to close puts the write-ahead log away, and only the writer's may.
  if (writer_) writer_->stop();
  readers_.reset();
  writer_.reset();
}

tl::expected<Store::Opened, StoreFault> Store::open_for_writing(const StoreOptions& options) {
  const StoreFault may_not{StoreFault::Kind::read_only,
                           "the store " + options.file.string() + " may not be written"};
  try {
    Opened opened;
    opened.db = connect_for_writing(options);
    if (!opened.db) return tl::unexpected(may_not);
    opened.checkpoint_db = std::make_unique<SQLite::Database>(
        options.file.string(), SQLite::OPEN_READWRITE, busy_milliseconds, options.vfs);
    return opened;
  } catch (const SQLite::Exception& error) {
    if (!cannot_write(error)) throw;
    StoreFault fault = fault_of(error, nullptr);
    if (fault.kind == StoreFault::Kind::failing) fault = may_not;
    return tl::unexpected(fault);
  }
}

tl::expected<Store::Opened, StoreFault> Store::open_again(const StoreOptions& options) {
  if (!lock_) {
    auto lock = Lock::take(options.file);
    if (!lock) return tl::unexpected(*writer_->fault());
    lock_ = std::move(*lock);
  }
  try {
    auto opened = open_for_writing(options);
    if (!opened) return opened;
    // Without a lock another process may have written.
    opened->newest = newest_in(*opened->db);
    readers_->turn_to(options.file.string(), SQLite::OPEN_READONLY);
    return opened;
  } catch (const SQLite::Exception& error) {
    return tl::unexpected(fault_of(error, nullptr));
  }
}

tl::expected<std::unique_ptr<Store>, std::string> Store::open(StoreOptions options) {
  namespace fs = std::filesystem;
  const std::string name = options.file.string();
  auto lock = Lock::take(options.file);
  if (!lock && lock.error() == EWOULDBLOCK)
    return tl::unexpected("the store " + name + " is in use by another process");
  try {
    std::unique_ptr<Store> store(new Store);
    if (lock) store->lock_ = std::move(*lock);
    auto opened = store->open_for_writing(options);
    if (!opened && !fs::exists(options.file))
      return tl::unexpected("cannot open the store " + name + ": " + opened.error().what);
    if (opened && version_of(*opened->db) == 0) {
      if (opened->db->execAndGet("SELECT count(*) FROM sqlite_master").getInt() != 0)
        return tl::unexpected(name + " is a database, but not an event store");
      create_layout(*opened->db);
    }
    const auto [read_name, read_flags] =
        opened ? std::pair{name, SQLite::OPEN_READONLY} : name_for_reading(options.file);
    SQLite::Database probe(read_name, read_flags, busy_milliseconds, options.vfs);
    const Sequence newest = newest_in(probe);
    store->readers_ = std::make_unique<Readers>(read_name, read_flags, options.vfs);
    store->writer_ = std::make_unique<Writer>(
        options, [&it = *store, options] { return it.open_again(options); }, newest);
    if (const int version = version_of(probe); version > store_version) {
      const StoreFault fault{StoreFault::Kind::newer_version,
                             "the store " + name + " is of version " + std::to_string(version) +
                                 "; this program writes version " + std::to_string(store_version)};
      spdlog::warn("store: {}; it is only read", fault.what);
      store->writer_->refuse_all(fault);
    } else {
      if (opened)
        opened->newest = newest;
      else
        spdlog::warn("store: {}; until that changes it is only read", opened.error().what);
      store->writer_->start(std::move(opened));
    }
    return store;
  } catch (const SQLite::Exception& error) {
    return tl::unexpected("cannot open the store " + name + ": " + fault_of(error, nullptr).what);
  } catch (const std::filesystem::filesystem_error& error) {
    return tl::unexpected("cannot open the store " + name + ": " + error.code().message());
  }
}

void Store::post(std::vector<Draft> events, std::function<void(PostOutcome)> done) {
  writer_->post(std::move(events), std::move(done));
}

tl::expected<Page, StoreFault> Store::read(Sequence after, Sequence through, std::size_t max_bytes,
                                           char separator) const {
  return readers_->with([&](Readers::Connection& connection) {
    constexpr auto greatest = static_cast<Sequence>(std::numeric_limits<std::int64_t>::max());
    Page page;
    SQLite::Statement& range = connection.range;
    range.bind(1, static_cast<std::int64_t>(std::min(after, greatest)));
    range.bind(2, static_cast<std::int64_t>(std::min(through, greatest)));
    while (page.text.size() < max_bytes && range.executeStep()) {
      append(page, static_cast<Sequence>(range.getColumn(0).getInt64()),
             text_of(range.getColumn(1)), separator);
    }
    range.reset();
    return page;
  });
}

tl::expected<Page, StoreFault> Store::search(std::string_view words, std::size_t most,
                                             char separator) const {
  const std::string query = all_words(words);
  if (query.empty()) return Page{};
  return readers_->with([&](Readers::Connection& connection) {
    if (!connection.said) {
      connection.said.emplace(
          connection.db,
          "SELECT events.seq, events.line FROM said JOIN events ON events.seq = said.rowid "
          "WHERE said.words MATCH ? ORDER BY events.seq LIMIT ?");
    }
    Page page;
    SQLite::Statement& said = *connection.said;
    said.bind(1, query);
    said.bind(2, static_cast<std::int64_t>(most));
    while (said.executeStep()) {
      append(page, static_cast<Sequence>(said.getColumn(0).getInt64()), text_of(said.getColumn(1)),
             separator);
    }
    said.reset();
    return page;
  });
}

Sequence Store::newest() const {
  return writer_->newest();
}
std::optional<StoreFault> Store::write_fault() const {
  return writer_->fault();
}
Store::Counts Store::counts() const {
  return writer_->counts();
}

std::string_view to_string(StoreFault::Kind kind) {
  switch (kind) {
    case StoreFault::Kind::full:
      return "full";
    case StoreFault::Kind::read_only:
      return "read_only";
    case StoreFault::Kind::corrupt:
      return "corrupt";
    case StoreFault::Kind::newer_version:
      return "newer_version";
    case StoreFault::Kind::busy:
      return "busy";
    case StoreFault::Kind::stopping:
      return "stopping";
    case StoreFault::Kind::failing:
      return "failing";
  }
  return "failing";
}

}  // namespace stonecall::server
