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
#include <set>
#include <system_error>
#include <thread>
#include <utility>

#include <SQLiteCpp/SQLiteCpp.h>
#include <fcntl.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "server/checkpointer.hpp"
#include "server/ids.hpp"
#include "server/layout.hpp"
#include "server/log_check.hpp"
#include "server/said_index.hpp"

namespace stonecall::server {
namespace {

using layout::fault_of;
using layout::version_of;
using protocol::Event;
using protocol::Timestamp;

constexpr std::size_t transaction_bytes = 4 * 1024 * 1024;
constexpr auto day = std::chrono::hours(24);
constexpr auto index_again_after = std::chrono::seconds(1);
// What was said is indexed when there is nothing else to do for a moment, some at a time, since a
// post waits for it; under a load without pauses only once it is far behind.
constexpr std::size_t index_at_once = 64;
constexpr Sequence index_far_behind = 200'000;
// Single posts are committed where they come from; many are better committed beside the reading of
// the next.
constexpr int quick_commits_in_a_row = 16;
constexpr std::size_t few_posts = 2;
constexpr auto for_ever = std::chrono::hours(1);
constexpr auto look_for_files_after = std::chrono::milliseconds(100);

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

bool same_as_stored(const Draft& draft, std::string_view line) {
  const auto stored = protocol::parse_event(line);
  const auto posted = protocol::parse_event(draft.head + draft.tail + "}");
  if (!stored || !posted) return false;
  return protocol::same_content(*stored, *posted);
}

/// Of the write-ahead log of this store, kept before it is written over, for those who can read
/// more from it; whether it is.
bool set_aside(const std::string& log, const std::string& name, std::size_t transactions) {
  const std::string kept = log + ".damaged";
  std::error_code error;
  std::filesystem::copy_file(log, kept, std::filesystem::copy_options::skip_existing, error);
  spdlog::error(
      "store: the write-ahead log of {} is damaged: {} transactions in it cannot be read. "
      "After a power cut that is what was not acknowledged; else acknowledged events are lost: "
      "compare with the last backup and with the desks. {}",
      name, transactions,
      error ? "It could not be kept: " + error.message() : "It is kept as " + kept);
  return !error;
}

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

struct Waiting {
  std::vector<Draft> events;
  std::function<void(PostOutcome)> done;
  std::size_t bytes = 0;
};

}  // namespace

void append(Page& page, Sequence seq, std::string_view line, char separator) {
  if (page.count == 0)
    page.first = seq;
  else
    page.text.push_back(separator);
  page.text.append(line);
  page.last = seq;
  ++page.count;
}

Draft draft_of(Event event) {
  const std::optional<Timestamp> received = event.received;
  event.seq.reset();
  event.received.reset();
  if (event.unknown.is_object()) event.unknown.erase("clock_off");
  protocol::LineParts line = protocol::line_parts(event);
  return {event.id, event.at.instant, std::move(line.envelope), std::move(line.members), received,
          {}};
}

/// Connections for reading; each serves one read at a time and is kept for the next.
class Store::Readers {
 public:
  Readers(std::string name, int flags, std::string vfs)
      : name_(std::move(name)), flags_(flags), vfs_(std::move(vfs)) {}

  struct Connection {
    Connection(const std::string& name, int flags, const std::string& vfs, int its_turn)
        : turn(its_turn), db(name, flags, layout::busy_milliseconds, vfs) {}
    int turn;
    SQLite::Database db;
    SQLite::Statement range{db, "SELECT " + layout::event_columns(db) +
                                    " FROM events WHERE seq > ? AND seq <= ? ORDER BY seq"};
    std::optional<SaidSearch> said;  ///< once it is asked for
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

  /// Behind the page, or in its place what says that it is damaged.
  void add(Page& page, Connection& connection, const layout::Row& row, char separator) {
    if (row.sound) return append(page, row.seq, row.line, separator);
    append(page, row.seq, layout::stand_in(connection.db, row), separator);
    const std::lock_guard lock(mutex_);
    if (damaged_.insert(row.seq).second)
      spdlog::error(
          "store: event {} is damaged; in its place one of the kind \"damaged\" is served",
          row.seq);
  }

  std::size_t damaged() const {
    const std::lock_guard lock(mutex_);
    return damaged_.size();
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
  mutable std::mutex mutex_;
  int turns_ = 0;
  std::vector<std::unique_ptr<Connection>> idle_;
  std::set<Sequence> damaged_;
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

/// A store opened for writing: a connection for the commits, one to copy their log with, and one
/// for the index of what was said.
struct Store::Opened {
  std::unique_ptr<SQLite::Database> db;
  std::unique_ptr<SQLite::Database> checkpoint_db;
  std::unique_ptr<SQLite::Database> index_db;
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
    checkpointer_.reset();
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
      open_again_at_ = Steady::now() + options_.open_again_after;
    }
    thread_ = std::thread([this] {
      learn_ids_ahead();
      write();
    });
  }

  void post(std::vector<Draft> events, std::function<void(PostOutcome)> done) {
    std::size_t bytes = 0;
    for (const Draft& draft : events) bytes += draft.head.size() + draft.tail.size();
    std::optional<StoreFault> refused;
    bool ask = false;
    bool left_to_asked = false;
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
        left_to_asked = quick_in_a_row_ >= quick_commits_in_a_row && options_.commit_soon;
        if (left_to_asked) ask = !std::exchange(asked_, true);
      }
      if (refused) ++counts_.failed;
    }
    if (refused)
      done(tl::unexpected(*refused));
    else if (ask)
      options_.commit_soon();
    else if (!left_to_asked)
      wake_.notify_one();
  }

  void commit_waiting() {
    std::unique_lock working(working_, std::try_to_lock);
    {
      const std::lock_guard lock(mutex_);
      asked_ = false;
    }
    if (working) commit_some();
    const std::lock_guard lock(mutex_);
    // The rest is for the store's own thread: what is left, the log and the index.
    const bool log_is_long = working && log_pages_ >= options_.checkpoint_pages;
    if (queue_.empty() && !log_is_long && !dozing_) return;
    upkeep_ = true;
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
        : insert(db, "INSERT INTO events(seq, id, line, sum) VALUES(?, ?, ?, ?)"),
          line(db, "SELECT " + layout::event_columns(db) + " FROM events WHERE seq = ?"),
          ids(db, "SELECT seq, id FROM events WHERE seq > ? ORDER BY seq"),
          begin(db, "BEGIN IMMEDIATE"),
          commit(db, "COMMIT") {}
    SQLite::Statement insert, line, ids, begin, commit;

    void reset() {
      for (auto* statement : {&insert, &line, &ids, &begin, &commit}) statement->tryReset();
    }
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
      const auto patience = pause();
      bool idle = false;
      {
        std::unique_lock lock(mutex_);
        dozing_ = patience == for_ever;
        idle = !wake_.wait_for(
            lock, patience, [&] { return stopping_ || upkeep_ || (!queue_.empty() && !asked_); });
        if (stopping_ && queue_.empty()) return;
        upkeep_ = false;
        dozing_ = false;
      }
      const std::lock_guard working(working_);
      if (idle) {
        index_if_quiet();
      } else {
        commit_some();
        after_commit();
      }
    }
  }

  /// Commits and answers what waits, or the first 4 MiB of it.
  void commit_some() {
    std::vector<Waiting> group;
    std::size_t events = 0;
    std::size_t bytes = 0;
    {
      const std::lock_guard lock(mutex_);
      while (!queue_.empty() &&
             (group.empty() || bytes + queue_.front().bytes <= transaction_bytes)) {
        events += queue_.front().events.size();
        bytes += queue_.front().bytes;
        group.push_back(std::move(queue_.front()));
        queue_.pop_front();
      }
    }
    if (group.empty()) return;
    const auto begin = Steady::now();
    auto work = commit(group);
    last_commit_ = Steady::now();
    {
      const std::lock_guard lock(mutex_);
      const bool quick = work && last_commit_ - begin < options_.quick_commit;
      const bool few = group.size() <= few_posts;
      quick_in_a_row_ = quick && few ? std::min(quick_in_a_row_ + 1, quick_commits_in_a_row) : 0;
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
  }

  /// Somebody has tidied up under a running server: what would be written now nobody could find.
  std::optional<StoreFault> gone() {
    if (Steady::now() < look_again_at_) return std::nullopt;
    for (const auto& file : files_) {
      if (file.still()) continue;
      return StoreFault{StoreFault::Kind::failing,
                        file.name() +
                            " was removed or replaced while the server writes to it: put it back, "
                            "or stop the server and begin on a backup"};
    }
    look_again_at_ = Steady::now() + look_for_files_after;
    return std::nullopt;
  }

  /// Throws what SQLite throws, and then nothing has changed.
  void adopt(Opened opened) {
    auto statements = std::make_unique<Statements>(*opened.db);
    auto indexer = std::make_unique<SaidIndexer>(*opened.index_db);
    const auto note_pages = [](void* self, sqlite3*, const char*, int pages) {
      static_cast<Writer*>(self)->log_pages_ = pages;
      return SQLITE_OK;
    };
    for (const auto* db : {&opened.db, &opened.index_db})
      sqlite3_wal_hook((*db)->getHandle(), note_pages, this);
    newest_.store(opened.newest, std::memory_order_release);
    db_ = std::move(opened.db);
    index_db_ = std::move(opened.index_db);
    statements_ = std::move(statements);
    indexer_ = std::move(indexer);
    checkpointer_ = std::make_unique<Checkpointer>(std::move(opened.checkpoint_db), *db_,
                                                   options_.checkpoint_pages);
  }

  /// What stood in the way may be gone by now: room on a disk that was full, a medium that may be
  /// written.
  tl::expected<void, StoreFault> be_open() {
    if (db_) return {};
    if (Steady::now() < open_again_at_) return tl::unexpected(*fault());
    auto opened = open_();
    open_again_at_ = Steady::now() + options_.open_again_after;
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
    if (auto fault = gone()) return tl::unexpected(std::move(*fault));
    Work work;
    work.newest = newest();
    work.placed.reserve(group.size());
    try {
      learn_ids();
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
      ids_through_ = work.newest;
      // The log is made with the first commit.
      if (files_.empty())
        files_ = {Standing(options_.file.string()), Standing(options_.file.string() + "-wal")};
      return work;
    } catch (const SQLite::Exception& error) {
      const StoreFault fault = fault_of(error, db_->getHandle());
      statements_->reset();
      for (const Waiting& waiting : group) {
        for (const Draft& draft : waiting.events) ids_.forget(draft.id, ids_through_);
      }
      if (sqlite3_get_autocommit(db_->getHandle()) == 0) db_->tryExec("ROLLBACK");
      return tl::unexpected(fault);
    }
  }

  /// Before the first post, which then need not wait for it; a fault shows again there.
  void learn_ids_ahead() {
    const std::lock_guard working(working_);
    if (!db_) return;
    try {
      learn_ids();
    } catch (const SQLite::Exception& error) {
      StoreFault fault = fault_of(error, db_->getHandle());
      statements_->reset();
      spdlog::error("store: {}", fault.what);
      const std::lock_guard lock(mutex_);
      fault_ = std::move(fault);
    }
  }

  /// Those that stand in the store already, or were put there by another while it was not ours.
  void learn_ids() {
    if (ids_through_ == newest()) return;
    SQLite::Statement& ids = statements_->ids;
    ids.bind(1, static_cast<std::int64_t>(ids_through_));
    Sequence through = ids_through_;
    while (ids.executeStep()) {
      // A damaged page can look like a sound one with other events. Nothing is written behind that.
      if (static_cast<Sequence>(ids.getColumn(0).getInt64()) != ++through)
        throw layout::missing(through);
      const SQLite::Column id = ids.getColumn(1);
      protocol::Uuid uuid{};
      if (id.getBytes() != static_cast<int>(uuid.size())) continue;
      std::copy_n(static_cast<const std::uint8_t*>(id.getBlob()), uuid.size(), uuid.begin());
      ids_.stand(uuid, through);
    }
    ids.reset();
    if (through < newest()) throw layout::missing(through + 1);
    ids_through_ = newest();
  }

  Placed place(const Draft& draft, const Timestamp& now, const std::string& now_text, Work& work) {
    const Sequence seq = work.newest + 1;
    if (draft.change) {
      if (std::string why = objection(*draft.change, seq); !why.empty()) {
        ++work.counts.refused;
        return {0, false, std::move(why)};
      }
    }
    if (const auto stands = ids_.stand(draft.id, seq)) return placed_before(draft, *stands, work);
    const std::string line =
        draft.received ? compose(draft, seq, *draft.received, protocol::to_string(*draft.received))
                       : compose(draft, seq, now, now_text);
    const int id_bytes = static_cast<int>(draft.id.size());
    const std::string_view id(reinterpret_cast<const char*>(draft.id.data), draft.id.size());
    statements_->insert.bind(1, static_cast<std::int64_t>(seq));
    statements_->insert.bindNoCopy(2, draft.id.data, id_bytes);
    statements_->insert.bindNoCopy(3, line);
    statements_->insert.bind(4, layout::sum_of(id, line));
    statements_->insert.exec();
    statements_->insert.reset();
    if (work.pages.empty() || work.pages.back().text.size() >= options_.page_bytes)
      work.pages.emplace_back();
    append(work.pages.back(), seq, line, ',');
    work.newest = seq;
    ++work.counts.stored;
    return {seq, false, {}};
  }

  /// Why what a change comes to in the end may not be changed. What does not stand yet can be.
  std::string objection(const Draft::Change& change, Sequence before) {
    std::optional<protocol::Uuid> target = change.target;
    while (target) {
      const auto seq = ids_.find(*target);
      if (!seq || *seq >= before) return {};
      before = *seq;
      statements_->line.bind(1, static_cast<std::int64_t>(*seq));
      if (!statements_->line.executeStep()) throw layout::missing(*seq);
      const auto event = protocol::parse_event(layout::Row(statements_->line).line);
      statements_->line.reset();
      if (!event) return "what it changes is damaged";
      if (std::string why = change.objection(kind_of(*event)); !why.empty()) return why;
      const protocol::Uuid* further = protocol::changed_by(*event);
      target = further ? std::optional(*further) : std::nullopt;
    }
    return {};
  }

  Placed placed_before(const Draft& draft, Sequence seq, Work& work) {
    SQLite::Statement& stored = statements_->line;
    stored.bind(1, static_cast<std::int64_t>(seq));
    if (!stored.executeStep()) throw layout::missing(seq);
    const layout::Row row(stored);
    Placed placed;
    if (row.sound && same_as_stored(draft, row.line))
      placed = {seq, true, {}};
    else
      placed.refused = "this id stands already, as seq " + std::to_string(seq) +
                       (row.sound ? ", with other content" : ", and what stands there is damaged");
    stored.reset();
    ++(placed.again ? work.counts.again : work.counts.refused);
    return placed;
  }

  /// How long to wait for posts before something else is done.
  std::chrono::milliseconds pause() {
    const std::lock_guard working(working_);
    if (!indexer_ || indexer_->through() >= newest()) return for_ever;
    if (Steady::now() < index_again_at_) return index_again_after;
    return options_.index_after;
  }

  void index_if_quiet() {
    if (Steady::now() - last_commit_ >= options_.index_after) index();
  }

  /// A fault here is no fault of a post, and a search does without.
  void index() {
    if (!indexer_ || indexer_->through() >= newest() || Steady::now() < index_again_at_) return;
    try {
      indexer_->take(index_at_once);
    } catch (const SQLite::Exception& error) {
      index_again_at_ = Steady::now() + index_again_after;
      spdlog::debug("store: what was said is not indexed: {}", error.what());
    }
    checkpointer_->after_commit(log_pages_);
  }

  void after_commit() {
    if (!db_) return;
    checkpointer_->after_commit(log_pages_);
    if (indexer_->through() + index_far_behind < newest()) index();
  }

  using Steady = std::chrono::steady_clock;

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
    opened.db = layout::connect_for_writing(options, layout::Commit::synced);
    if (!opened.db) return tl::unexpected(may_not);
    if (const int version = version_of(*opened.db); version > 0 && version < store_version)
      layout::prepare(*opened.db);
    opened.checkpoint_db = std::make_unique<SQLite::Database>(
        options.file.string(), SQLite::OPEN_READWRITE, layout::busy_milliseconds, options.vfs);
    // Nobody is told that an index is on the disk.
    opened.index_db = layout::connect_for_writing(options, layout::Commit::unsynced);
    if (!opened.index_db) return tl::unexpected(may_not);
    return opened;
  } catch (const SQLite::Exception& error) {
    if (!layout::cannot_write(error)) throw;
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
    opened->newest = layout::newest_in(*opened->db);
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
  if (!lock && lock.error() == EISDIR)
    return tl::unexpected("the store is to be a file, and " + name + " is a folder");
  try {
    const std::string log = name + "-wal";
    const LogCheck in_log = check_log(log);
    // SQLite would put the log away, and begin anew.
    if (std::error_code absent;
        in_log.commits > 0 && (fs::file_size(options.file, absent) == 0 || absent)) {
      return tl::unexpected(name + " is empty, but " + log +
                            " holds events of it: put the file back, or to begin anew move " + log +
                            " away too");
    }
    // One, the last, is what a server that was killed in the midst of a commit leaves.
    if (in_log.passed_over == 1)
      spdlog::warn(
          "store: the last transaction in {} is not whole, as a server leaves it that is killed in "
          "the midst of a commit, before it answers",
          log);
    const bool log_is_kept = in_log.passed_over > 1 && set_aside(log, name, in_log.passed_over);
    std::unique_ptr<Store> store(new Store);
    if (lock) store->lock_ = std::move(*lock);
    auto opened = store->open_for_writing(options);
    if (!opened && !fs::exists(options.file))
      return tl::unexpected("cannot open the store " + name + ": " + opened.error().what);
    if (opened && version_of(*opened->db) == 0) {
      if (opened->db->execAndGet("SELECT count(*) FROM sqlite_master").getInt() != 0)
        return tl::unexpected(name + " is a database, but not an event store");
      layout::prepare(*opened->db);
    }
    // Else the next start would find the damage again, behind what is written now.
    if (opened && log_is_kept) opened->db->tryExec("PRAGMA wal_checkpoint(TRUNCATE)");
    const auto [read_name, read_flags] =
        opened ? std::pair{name, SQLite::OPEN_READONLY} : layout::name_for_reading(options.file);
    SQLite::Database probe(read_name, read_flags, layout::busy_milliseconds, options.vfs);
    const Sequence newest = layout::newest_in(probe);
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
  // Committed before the reading begins, so they have to be there.
  const Sequence there = std::min(through, newest());
  return readers_->with([&](Readers::Connection& connection) {
    constexpr auto greatest = static_cast<Sequence>(std::numeric_limits<std::int64_t>::max());
    Page page;
    SQLite::Statement& range = connection.range;
    range.bind(1, static_cast<std::int64_t>(std::min(after, greatest)));
    range.bind(2, static_cast<std::int64_t>(std::min(through, greatest)));
    Sequence last = after;
    try {
      while (page.text.size() < max_bytes) {
        const bool more = range.executeStep();
        if (!more && last >= there) break;
        if (!more || static_cast<Sequence>(range.getColumn(0).getInt64()) != last + 1)
          throw layout::missing(last + 1);
        readers_->add(page, connection, layout::Row(range), separator);
        ++last;
      }
    } catch (const SQLite::Exception&) {
      // Damage costs nothing that stands before it; the next read meets it again.
      if (page.count == 0) throw;
    }
    range.tryReset();
    return page;
  });
}

tl::expected<Page, StoreFault> Store::search(std::string_view words, std::size_t most,
                                             char separator) const {
  return readers_->with([&](Readers::Connection& connection) {
    if (!connection.said) connection.said.emplace(connection.db);
    return connection.said->find(words, most, separator);
  });
}

Sequence Store::newest() const {
  return writer_->newest();
}
void Store::commit_waiting() {
  writer_->commit_waiting();
}
std::optional<StoreFault> Store::write_fault() const {
  return writer_->fault();
}
Store::Counts Store::counts() const {
  Counts counts = writer_->counts();
  counts.damaged = readers_->damaged();
  return counts;
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
