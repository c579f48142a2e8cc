#include "console/desk/publisher.hpp"

#include <chrono>

namespace stonecall::desk {
namespace {
// Between events only the clocks move, and those run on by themselves; the curves want to be made
// anew now and then.
constexpr std::chrono::seconds stale_after{10};
}  // namespace

Publisher::Publisher(Workers workers, Source::Wake wake)
    : workers_(std::move(workers)), wake_(std::move(wake)) {
  if (workers_.assess) thread_ = std::jthread([this](std::stop_token stop) { assess(stop); });
}

Publisher::~Publisher() {
  thread_.request_stop();
  work_.notify_all();
}

std::shared_ptr<const View> Publisher::view() const {
  std::lock_guard lock(mutex_);
  return view_;
}

void Publisher::publish(View view) {
  {
    std::lock_guard lock(mutex_);
    view.assessment = assessment_;
    if (workers_.assess && view.picture) {
      auto apart = view.now > assessed_at_ ? view.now - assessed_at_ : assessed_at_ - view.now;
      if (view.picture != assessed_ || apart >= stale_after) {
        waiting_ = Task{view.picture, view.now};
        assessed_ = view.picture;
        assessed_at_ = view.now;
        work_.notify_all();
      }
    }
    view_ = std::make_shared<const View>(std::move(view));
  }
  if (wake_) wake_();
}

bool Publisher::settled() const {
  std::lock_guard lock(mutex_);
  return !busy_ && !waiting_;
}

void Publisher::assess(std::stop_token stop) {
  std::unique_lock lock(mutex_);
  while (work_.wait(lock, stop, [&] { return waiting_.has_value(); })) {
    Task task = *std::exchange(waiting_, std::nullopt);
    busy_ = true;
    lock.unlock();
    auto made = workers_.assess(*task.picture, task.now);
    lock.lock();
    busy_ = false;
    assessment_ = std::move(made);
    View next = *view_;
    next.assessment = assessment_;
    view_ = std::make_shared<const View>(std::move(next));
    lock.unlock();
    if (wake_) wake_();
    lock.lock();
  }
}

}  // namespace stonecall::desk
