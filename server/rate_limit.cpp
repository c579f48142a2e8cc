#include "server/rate_limit.hpp"

#include <algorithm>

namespace stonecall::server {
namespace {

constexpr double seconds_at_once = 2;
constexpr std::size_t addresses_kept = 4'096;

double seconds(RateLimit::Clock::duration time) {
  return std::chrono::duration<double>(time).count();
}

}  // namespace

RateLimit::Clock::duration RateLimit::take(const boost::asio::ip::address& who,
                                           Clock::time_point now) {
  if (per_second_ <= 0) return {};
  const double most = std::max(1.0, per_second_ * seconds_at_once);
  const std::lock_guard lock(mutex_);
  if (buckets_.size() >= addresses_kept) forget_the_quiet(now);
  auto [found, is_new] = buckets_.try_emplace(who, Bucket{most, now});
  Bucket& bucket = found->second;
  bucket.left = std::min(most, bucket.left + seconds(now - bucket.at) * per_second_);
  bucket.at = now;
  if (bucket.left < 1) {
    return std::chrono::duration_cast<Clock::duration>(
        std::chrono::duration<double>((1 - bucket.left) / per_second_));
  }
  bucket.left -= 1;
  return {};
}

void RateLimit::forget_the_quiet(Clock::time_point now) {
  std::erase_if(buckets_, [&](const auto& entry) {
    return seconds(now - entry.second.at) >= seconds_at_once;  // full again: as if new
  });
}

}  // namespace stonecall::server
