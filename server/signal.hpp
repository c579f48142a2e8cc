#pragma once

#include <optional>
#include <utility>

#include <boost/asio/any_completion_handler.hpp>
#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace stonecall::server {

/// What one coroutine waits for and others on its strand tell it; cheaper than a timer that is
/// cancelled. Told while nobody waits, it is remembered. One that is waited for has to be told
/// before the strand ends.
class Signal {
 public:
  explicit Signal(boost::asio::any_io_executor strand) : strand_(std::move(strand)) {}

  /// The waiter goes on soon.
  void tell() {
    told_ = true;
    if (!waiter_) return;
    boost::asio::post(strand_, [waiter = taken()]() mutable { std::move(waiter)(); });
  }

  /// The waiter goes on now, before this returns: not for coroutines.
  void tell_now() {
    told_ = true;
    if (waiter_) taken()();
  }

  boost::asio::awaitable<void> wait() {
    if (!told_) {
      co_await boost::asio::async_initiate<const boost::asio::use_awaitable_t<>, void()>(
          [this](auto handler) { waiter_.emplace(std::move(handler)); },
          boost::asio::use_awaitable);
    }
    told_ = false;
  }

 private:
  using Waiter = boost::asio::any_completion_handler<void()>;

  Waiter taken() {
    Waiter waiter = std::move(*waiter_);
    waiter_.reset();
    return waiter;
  }

  boost::asio::any_io_executor strand_;
  std::optional<Waiter> waiter_;  // Boost 1.81 cannot assign one to another
  bool told_ = false;
};

}  // namespace stonecall::server
