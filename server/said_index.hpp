#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include <SQLiteCpp/SQLiteCpp.h>

#include "protocol/event.hpp"
#include "server/layout.hpp"
#include "server/store.hpp"

/// The full-text index of what people said or wrote. It runs behind the events, so that no commit
/// waits for it, and a search reads what it has not come to yet from the events themselves. What
/// throws here throws SQLite::Exception.
namespace stonecall::server {

/// What a person said or wrote in an event; may be empty.
std::string said_in(const protocol::Event& event);

/// SQL that makes the index as a table of that name.
std::string make_said_index(const std::string& table);

/// Takes events into the index, on the one thread that writes, over a connection of its own.
class SaidIndexer {
 public:
  explicit SaidIndexer(SQLite::Database& db);

  /// The last event that is in the index, or had nothing to be put there.
  Sequence through() const { return through_; }

  /// Takes up to so many further events, in one transaction. The disk is not waited for: events
  /// that a power cut takes out of the index are taken again.
  void take(std::size_t most);

 private:
  SQLite::Database& db_;
  SQLite::Statement events_;
  SQLite::Statement insert_;
  SQLite::Statement note_through_;
  Sequence through_ = 0;
};

/// Searches over a connection that only reads.
class SaidSearch {
 public:
  explicit SaidSearch(SQLite::Database& db);

  /// Hands over the events in which every one of the words was said or written, in order; no more
  /// than `most`.
  void find(std::string_view words, std::size_t most,
            const std::function<void(const layout::Row&)>& found);

 private:
  void take_tail();

  SQLite::Database& db_;
  bool all_is_indexed_ = false;  ///< a store of layout 1 that nobody may write
  std::optional<SQLite::Statement> find_;
  std::optional<SQLite::Statement> tail_;
  std::optional<SQLite::Statement> insert_;
};

}  // namespace stonecall::server
