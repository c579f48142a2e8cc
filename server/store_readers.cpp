#include "server/store_readers.hpp"

#include <spdlog/spdlog.h>

namespace stonecall::server {

void StoreReaders::turn_to(std::string name, int flags) {
  const std::lock_guard lock(mutex_);
  name_ = std::move(name);
  flags_ = flags;
  idle_.clear();
  ++turns_;
}

void StoreReaders::add(Page& page, Connection& connection, const layout::Row& row, char separator) {
  if (row.sound) return append(page, row.seq, row.line, separator);
  append(page, row.seq, layout::stand_in(connection.db, row), separator);
  const std::lock_guard lock(mutex_);
  if (damaged_.insert(row.seq).second)
    spdlog::error("store: event {} is damaged; in its place one of the kind \"damaged\" is served",
                  row.seq);
}

std::size_t StoreReaders::damaged() const {
  const std::lock_guard lock(mutex_);
  return damaged_.size();
}

std::unique_ptr<StoreReaders::Connection> StoreReaders::take() {
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

void StoreReaders::give_back(std::unique_ptr<Connection> connection) {
  const std::lock_guard lock(mutex_);
  if (connection->turn == turns_) idle_.push_back(std::move(connection));
}

}  // namespace stonecall::server
