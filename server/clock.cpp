#include "server/clock.hpp"

namespace stonecall::server {

using protocol::Instant;
using protocol::Milliseconds;
using protocol::Timestamp;

void ServerClock::play(Timestamp from, Instant until, double speed) {
  const std::lock_guard lock(mutex_);
  play_ = Play{from, until, speed, Steady::now()};
}

void ServerClock::hold(Timestamp at) {
  play(at, Instant::max(), 0);
}

Timestamp ServerClock::now() const {
  const std::lock_guard lock(mutex_);
  if (!play_) return {std::chrono::floor<Milliseconds>(std::chrono::system_clock::now()), {}};
  const std::chrono::duration<double, std::milli> real = Steady::now() - play_->begun;
  const double played = static_cast<double>((play_->until - play_->from.instant).count());
  double shown = real.count() * play_->speed;
  if (play_->speed > 0 && shown > played) shown = played + (real.count() - played / play_->speed);
  return {play_->from.instant + Milliseconds(static_cast<std::int64_t>(shown)), play_->from.offset};
}

double ServerClock::speed() const {
  const std::lock_guard lock(mutex_);
  if (!play_) return 1;
  const std::chrono::duration<double, std::milli> real = Steady::now() - play_->begun;
  const bool ended = real.count() * play_->speed >
                     static_cast<double>((play_->until - play_->from.instant).count());
  return ended && play_->speed > 0 ? 1 : play_->speed;
}

}  // namespace stonecall::server
