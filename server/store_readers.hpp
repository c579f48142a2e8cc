#pragma once

#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

#include "server/layout.hpp"
#include "server/said_index.hpp"
#include "server/store.hpp"

namespace stonecall::server {

/// The half of a store that reads: connections, each of which serves one read at a time and is kept
/// for the next.
class StoreReaders {
 public:
  StoreReaders(std::string name, int flags, std::string vfs)
      : name_(std::move(name)), flags_(flags), vfs_(std::move(vfs)) {}

  struct Connection {
    Connection(const std::string& name, int flags, const std::string& vfs, int its_turn)
        : turn(its_turn),
          db(name, flags | layout::one_thread_at_a_time, layout::busy_milliseconds, vfs) {}
    int turn;
    SQLite::Database db;
    SQLite::Statement range{db, "SELECT " + layout::event_columns(db) +
                                    " FROM events WHERE seq > ? AND seq <= ? ORDER BY seq"};
    std::optional<SaidSearch> said;  ///< once it is asked for
  };

  /// The next reads go there; for a file that could only be read, and can now be written.
  void turn_to(std::string name, int flags);

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
      return tl::unexpected(
          layout::fault_of(error, connection ? connection->db.getHandle() : nullptr));
    }
  }

  /// Behind the page, or in its place what says that it is damaged.
  void add(Page& page, Connection& connection, const layout::Row& row, char separator);

  std::size_t damaged() const;

 private:
  std::unique_ptr<Connection> take();

  void give_back(std::unique_ptr<Connection> connection);

  std::string name_;
  int flags_;
  std::string vfs_;
  mutable std::mutex mutex_;
  int turns_ = 0;
  std::vector<std::unique_ptr<Connection>> idle_;
  std::set<Sequence> damaged_;
};

}  // namespace stonecall::server
