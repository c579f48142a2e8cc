#include "console/desk/publisher.hpp"

#include "console/advise/memory.hpp"
#include "console/desk/beside.hpp"
#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {

Publisher::Publisher(Workers workers, Source::Wake wake)
    : workers_(std::move(workers)),
      wake_(std::move(wake)),
      reader_(workers_.read_note, [this] { more_is_read(); }) {
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

void Publisher::publish(View view, picture::PicturePtr end) {
  reader_.want(view.picture);
  {
    std::lock_guard lock(mutex_);
    view.proposals = reader_.proposals();
    view.assessment = assessment_;
    view.assessed = assessed_;
    if (!end) at_the_end_.reset();
    view.at_the_end = at_the_end_;
    if (workers_.assess && view.picture) {
      auto apart = view.now > asked_at_ ? view.now - asked_at_ : asked_at_ - view.now;
      const bool end_due = end && end != asked_end_;
      asked_end_ = end;
      if (view.picture != asked_ || apart >= numbers_hold_for || end_due) {
        waiting_ = Task{view.picture, view.now, std::move(end)};
        asked_ = view.picture;
        asked_at_ = view.now;
        work_.notify_all();
      }
    }
    view_ = std::make_shared<const View>(std::move(view));
  }
  if (wake_) wake_();
}

void Publisher::settle(std::size_t newest_notes) const {
  {
    std::unique_lock lock(mutex_);
    work_.wait(lock, [&] { return !busy_ && !waiting_; });
  }
  reader_.settle(newest_notes);
}

void Publisher::more_is_read() {
  {
    std::lock_guard lock(mutex_);
    View next = *view_;
    next.proposals = reader_.proposals();
    view_ = std::make_shared<const View>(std::move(next));
  }
  if (wake_) wake_();
}

void Publisher::assess(std::stop_token stop) {
  let_others_first(5);
  advise::Memory memory;
  std::unique_lock lock(mutex_);
  while (work_.wait(lock, stop, [&] { return waiting_.has_value(); })) {
    Task task = *std::exchange(waiting_, std::nullopt);
    busy_ = true;
    lock.unlock();
    auto made = workers_.assess(*task.picture, task.now, memory);
    std::shared_ptr<const AtTheEnd> looked_back;
    if (task.end && made)
      looked_back =
          std::make_shared<const AtTheEnd>(at_the_end(*task.picture, *made, *task.end, memory));
    lock.lock();
    busy_ = false;
    assessment_ = std::move(made);
    assessed_ = std::move(task.picture);
    at_the_end_ = asked_end_ ? std::move(looked_back) : nullptr;
    View next = *view_;
    next.assessment = assessment_;
    next.assessed = assessed_;
    next.at_the_end = at_the_end_;
    view_ = std::make_shared<const View>(std::move(next));
    work_.notify_all();
    lock.unlock();
    if (wake_) wake_();
    lock.lock();
  }
}

}  // namespace stonecall::desk
