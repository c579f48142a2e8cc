#include "server/store_writer.hpp"

#include <algorithm>
#include <limits>

#include <spdlog/spdlog.h>
#include <sqlite3.h>

#include "server/layout.hpp"

namespace stonecall::server {
namespace {

using layout::fault_of;
using protocol::Timestamp;

constexpr std::size_t transaction_bytes = 4 * 1024 * 1024;
constexpr auto day = std::chrono::hours(24);
constexpr auto index_again_after = std::chrono::seconds(1);
// What was said is indexed when there is nothing else to do for a moment, some at a time, since a
// post waits for it; under a load without pauses only once it is far behind.
constexpr std::size_t index_at_once = 64;
constexpr Sequence index_far_behind = 1'000'000;
// Single posts are committed where they come from; many are better committed beside the reading of
// the next.
constexpr int quick_commits_in_a_row = 16;
constexpr std::size_t few_posts = 2;
constexpr int laid_out_pages = 4'000;  // 16 MB
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

}  // namespace

struct StoreWriter::Statements {
  explicit Statements(SQLite::Database& db)
      : insert(db, "INSERT INTO events(seq, id, line, sum) VALUES(?, ?, ?, ?)"),
        line(db, "SELECT " + layout::event_columns(db) + " FROM events WHERE seq = ?"),
        ids(db, "SELECT seq, id FROM events WHERE seq > ? ORDER BY seq"),
        begin(db, "BEGIN IMMEDIATE"),
        commit(db, "COMMIT"),
        state(db, "SELECT rootpage FROM sqlite_master") {}
  SQLite::Statement insert, line, ids, begin, commit, state;

  void reset() {
    for (auto* statement : {&insert, &line, &ids, &begin, &commit, &state}) statement->tryReset();
  }

  /// While a statement reads, SQLite keeps its place in the log from one commit to the next: four
  /// of the six locks of a commit are not taken. Where that fails a commit does without.
  void hold_state() {
    if (!state.hasRow()) state.tryExecuteStep();
  }
  /// Before another connection writes, and for the log to begin anew.
  void let_state_go() {
    if (state.hasRow()) state.tryReset();
  }

  void begin_writing() {
    try {
      begin.exec();
    } catch (const SQLite::Exception& error) {
      // Another program wrote since: the state that is held has become an old one.
      if (!state.hasRow() || (error.getErrorCode() & 0xff) != SQLITE_BUSY) throw;
      let_state_go();
      begin.tryReset();
      begin.exec();
    }
  }
};

StoreWriter::StoreWriter(StoreOptions options, Open open, Sequence newest)
    : options_(std::move(options)), open_(std::move(open)), newest_(newest) {}

StoreWriter::~StoreWriter() {
  stop();
}

void StoreWriter::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (thread_.joinable()) thread_.join();
  checkpointer_.reset();
}

void StoreWriter::refuse_all(StoreFault fault) {
  const std::lock_guard lock(mutex_);
  lasting_fault_ = true;
  fault_ = std::move(fault);
}

void StoreWriter::start(tl::expected<OpenedStore, StoreFault> opened) {
  if (opened) {
    adopt(std::move(*opened));
  } else {
    fault_ = opened.error();
    open_again_at_ = Steady::now() + options_.open_again_after;
  }
  thread_ = std::thread([this] {
    prepare();
    write();
  });
}

void StoreWriter::post(std::vector<Draft> events, std::function<void(PostOutcome)> done) {
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
    } else if (waiting_events_ > 0 && (waiting_events_ + events.size() > options_.waiting_events ||
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

void StoreWriter::commit_waiting() {
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

std::optional<StoreFault> StoreWriter::fault() const {
  const std::lock_guard lock(mutex_);
  return fault_;
}

StoreWriter::Counts StoreWriter::counts() const {
  const std::lock_guard lock(mutex_);
  Counts counts = counts_;
  counts.waiting = waiting_events_;
  return counts;
}

void StoreWriter::write() {
  for (;;) {
    const auto patience = pause();
    bool idle = false;
    {
      std::unique_lock lock(mutex_);
      dozing_ = patience == for_ever;
      idle = !wake_.wait_for(lock, patience,
                             [&] { return stopping_ || upkeep_ || (!queue_.empty() && !asked_); });
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

void StoreWriter::commit_some() {
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

std::optional<StoreFault> StoreWriter::gone() {
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

void StoreWriter::adopt(OpenedStore opened) {
  auto statements = std::make_unique<Statements>(*opened.db);
  auto indexer = std::make_unique<SaidIndexer>(*opened.index_db);
  const auto note_pages = [](void* self, sqlite3*, const char*, int pages) {
    static_cast<StoreWriter*>(self)->log_pages_ = pages;
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

tl::expected<void, StoreFault> StoreWriter::be_open() {
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

tl::expected<StoreWriter::Work, StoreFault> StoreWriter::commit(const std::vector<Waiting>& group) {
  if (const auto open = be_open(); !open) return tl::unexpected(open.error());
  if (auto fault = gone()) return tl::unexpected(std::move(*fault));
  Work work;
  work.newest = newest();
  work.placed.reserve(group.size());
  try {
    learn_ids();
    statements_->hold_state();
    statements_->begin_writing();
    const Timestamp now = options_.clock();
    const std::string now_text = protocol::to_string(now);
    for (const Waiting& waiting : group) {
      std::vector<Placed>& placed = work.placed.emplace_back();
      placed.reserve(waiting.events.size());
      for (const Draft& draft : waiting.events) placed.push_back(place(draft, now, now_text, work));
    }
    statements_->commit.exec();
    for (auto* statement : {&statements_->begin, &statements_->commit}) statement->reset();
    if (log_pages_ >= options_.checkpoint_pages) statements_->let_state_go();
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

void StoreWriter::prepare() {
  const std::lock_guard working(working_);
  if (!db_) return;
  try {
    layout::lay_out_log(*db_, std::min(options_.checkpoint_pages, laid_out_pages));
    learn_ids();
  } catch (const SQLite::Exception& error) {
    StoreFault fault = fault_of(error, db_->getHandle());
    statements_->reset();
    spdlog::error("store: {}", fault.what);
    const std::lock_guard lock(mutex_);
    fault_ = std::move(fault);
  }
}

void StoreWriter::learn_ids() {
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

Placed StoreWriter::place(const Draft& draft, const Timestamp& now, const std::string& now_text,
                          Work& work) {
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

std::string StoreWriter::objection(const Draft::Change& change, Sequence before) {
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

Placed StoreWriter::placed_before(const Draft& draft, Sequence seq, Work& work) {
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

std::chrono::milliseconds StoreWriter::pause() {
  const std::lock_guard working(working_);
  if (!indexer_ || indexer_->through() >= newest()) return for_ever;
  if (Steady::now() < index_again_at_) return index_again_after;
  return options_.index_after;
}

void StoreWriter::index_if_quiet() {
  if (Steady::now() - last_commit_ >= options_.index_after) index();
}

void StoreWriter::index() {
  if (!indexer_ || indexer_->through() >= newest() || Steady::now() < index_again_at_) return;
  statements_->let_state_go();
  try {
    indexer_->take(index_at_once);
  } catch (const SQLite::Exception& error) {
    index_again_at_ = Steady::now() + index_again_after;
    spdlog::debug("store: what was said is not indexed: {}", error.what());
  }
  checkpointer_->after_commit(log_pages_);
}

void StoreWriter::after_commit() {
  if (!db_) return;
  checkpointer_->after_commit(log_pages_);
  if (indexer_->through() + index_far_behind < newest()) index();
}

}  // namespace stonecall::server
