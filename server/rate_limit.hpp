#pragma once

#include <chrono>
#include <map>
#include <mutex>

#include <boost/asio/ip/address.hpp>

namespace stonecall::server {

/// How many requests one address may make: so many a second, and two seconds' worth at once. A
/// token bucket for each address that was heard of lately. Any thread.
class RateLimit {
 public:
  using Clock = std::chrono::steady_clock;

  /// 0: as many as they like.
  explicit RateLimit(double per_second) : per_second_(per_second) {}

  /// Counts one request at `now`. Zero if it may be served, else how long to wait before the next;
  /// one that may not be served is not counted.
  Clock::duration take(const boost::asio::ip::address& who, Clock::time_point now = Clock::now());

 private:
  struct Bucket {
    double left = 0;
    Clock::time_point at;
  };
  void forget_the_quiet(Clock::time_point now);

  const double per_second_;
  std::mutex mutex_;
  std::map<boost::asio::ip::address, Bucket> buckets_;
};

}  // namespace stonecall::server
