#include "server/store.hpp"

#include <algorithm>
#include <cerrno>
#include <limits>
#include <system_error>
#include <utility>

#include <SQLiteCpp/SQLiteCpp.h>
#include <fcntl.h>
#include <spdlog/spdlog.h>
#include <sys/file.h>
#include <unistd.h>

#include "server/layout.hpp"
#include "server/log_check.hpp"
#include "server/store_readers.hpp"
#include "server/store_writer.hpp"

namespace stonecall::server {
namespace {

using layout::fault_of;
using layout::version_of;
using protocol::Event;
using protocol::Timestamp;

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

Store::Store() = default;
Store::~Store() {
  // The writer may open the store again and turn the readers to it, so it ends before they do; the
  // last connection to close puts the write-ahead log away, and only the writer's may.
  if (writer_) writer_->stop();
  readers_.reset();
  writer_.reset();
}

tl::expected<OpenedStore, StoreFault> Store::open_for_writing(const StoreOptions& options) {
  const StoreFault may_not{StoreFault::Kind::read_only,
                           "the store " + options.file.string() + " may not be written"};
  try {
    OpenedStore opened;
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

tl::expected<OpenedStore, StoreFault> Store::open_again(const StoreOptions& options) {
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
    store->readers_ = std::make_unique<StoreReaders>(read_name, read_flags, options.vfs);
    store->writer_ = std::make_unique<StoreWriter>(
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
  return readers_->with([&](StoreReaders::Connection& connection) {
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
        if (!more) throw layout::missing(last + 1);
        const layout::Row row(range);
        if (row.seq != last + 1) throw layout::missing(last + 1);
        readers_->add(page, connection, row, separator);
        last = row.seq;
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
  return readers_->with([&](StoreReaders::Connection& connection) {
    if (!connection.said) connection.said.emplace(connection.db);
    Page page;
    connection.said->find(words, most, [&](const layout::Row& row) {
      readers_->add(page, connection, row, separator);
    });
    return page;
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
