#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <utility>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/steady_timer.hpp>

namespace stonecall::server {

/// Until when something has to be done; put off again and again at no cost but a look at the clock,
/// since the timer is only set anew once it has run out, or for a time before that. For one strand.
class Deadline {
 public:
  using Clock = std::chrono::steady_clock;

  /// `over` is called when the time is up, not after the deadline is gone.
  Deadline(const boost::asio::any_io_executor& strand, std::function<void()> over)
      : watch_(std::make_shared<Watch>(strand, std::move(over))) {}
  ~Deadline() { watch_->timer.cancel(); }
  Deadline(const Deadline&) = delete;
  Deadline& operator=(const Deadline&) = delete;

  void in(Clock::duration time) {
    watch_->until = Clock::now() + time;
    if (watch_->until < watch_->timer.expiry() || !watch_->waiting) wait(watch_);
  }
  void never() { watch_->until = Clock::time_point::max(); }

 private:
  struct Watch {
    Watch(const boost::asio::any_io_executor& strand, std::function<void()> call)
        : timer(strand), over(std::move(call)) {}
    boost::asio::steady_timer timer;
    std::function<void()> over;
    Clock::time_point until = Clock::time_point::max();
    bool waiting = false;
  };

  static void wait(const std::shared_ptr<Watch>& watch) {
    watch->timer.expires_at(watch->until);
    watch->waiting = true;
    watch->timer.async_wait([weak = std::weak_ptr(watch)](boost::system::error_code cancelled) {
      const auto watch = weak.lock();
      if (cancelled || !watch) return;
      watch->waiting = false;
      if (watch->until > Clock::now()) {
        if (watch->until != Clock::time_point::max()) wait(watch);
      } else {
        watch->over();
      }
    });
  }

  std::shared_ptr<Watch> watch_;
};

}  // namespace stonecall::server
