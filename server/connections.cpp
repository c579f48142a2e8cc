#include "server/connections.hpp"

#include <utility>

#include <boost/asio/post.hpp>

namespace stonecall::server {

bool Connections::add(const std::shared_ptr<Connection>& connection) {
  const std::lock_guard lock(mutex_);
  const bool full = open_.size() >= most_;
  if (full || stopping_) ++turned_away_;
  if (stopping_ || (full && strangers_.empty())) return false;
  if (full) {
    const auto oldest = strangers_.front();
    forget_stranger(*oldest);
    boost::asio::post(oldest->strand, [oldest] {
      if (oldest->cut) oldest->cut();
    });
  }
  open_.insert(connection);
  connection->stranger_ = strangers_.insert(strangers_.end(), connection);
  return true;
}

void Connections::settle(const std::shared_ptr<Connection>& connection) {
  const std::lock_guard lock(mutex_);
  forget_stranger(*connection);
}

void Connections::forget_stranger(Connection& connection) {
  if (const auto at = std::exchange(connection.stranger_, std::nullopt)) strangers_.erase(*at);
}

void Connections::remove(const std::shared_ptr<Connection>& connection) {
  const std::lock_guard lock(mutex_);
  open_.erase(connection);
  forget_stranger(*connection);
  fewer_.notify_all();
}

std::size_t Connections::stop(std::chrono::milliseconds patience) {
  std::unique_lock lock(mutex_);
  stopping_ = true;
  for (const auto& connection : open_) {
    boost::asio::post(connection->strand, [connection] {
      connection->stopping = true;
      if (connection->on_stop) connection->on_stop();
    });
  }
  if (fewer_.wait_for(lock, patience, [&] { return open_.empty(); })) return 0;
  const std::size_t cut = open_.size();
  for (const auto& connection : open_) {
    boost::asio::post(connection->strand, [connection] {
      if (connection->cut) connection->cut();
    });
  }
  // What still waits for the disk ends when the disk answers; a socket that is closed cannot hold
  // it longer.
  fewer_.wait(lock, [&] { return open_.empty(); });
  return cut;
}

std::size_t Connections::open() const {
  const std::lock_guard lock(mutex_);
  return open_.size();
}

std::uint64_t Connections::turned_away() const {
  const std::lock_guard lock(mutex_);
  return turned_away_;
}

}  // namespace stonecall::server
