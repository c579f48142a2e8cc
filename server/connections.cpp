#include "server/connections.hpp"

#include <boost/asio/post.hpp>

namespace stonecall::server {

bool Connections::add(const std::shared_ptr<Connection>& connection) {
  const std::lock_guard lock(mutex_);
  if (stopping_ || open_.size() >= most_) {
    ++turned_away_;
    return false;
  }
  open_.insert(connection);
  return true;
}

void Connections::remove(const std::shared_ptr<Connection>& connection) {
  const std::lock_guard lock(mutex_);
  open_.erase(connection);
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
