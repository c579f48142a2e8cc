#include "server/hub.hpp"

#include <utility>

namespace stonecall::server {

EventsMessage events_message(const Page& page) {
  std::string text;
  text.reserve(page.text.size() + 40);
  text.append(R"({"type":"event","events":[)").append(page.text).append("]}");
  return {page.first, page.last, std::make_shared<const std::string>(std::move(text))};
}

void Hub::begin(Sequence newest) {
  const std::lock_guard lock(mutex_);
  newest_ = newest;
}

void Hub::publish(const std::vector<Page>& pages) {
  for (const Page& page : pages) {
    const EventsMessage message = events_message(page);
    const std::lock_guard lock(mutex_);
    newest_ = page.last;
    for (const auto& console : consoles_) {
      if (!console->live_) continue;
      if (console->bytes_ + message.text->size() > queue_bytes_) {
        console->live_ = false;
        console->events_.clear();
        console->bytes_ = 0;
        ++dropped_;
      } else {
        console->events_.push_back(message);
        console->bytes_ += message.text->size();
      }
      wake(*console);
    }
  }
}

void Hub::join(std::shared_ptr<Console> console) {
  const std::lock_guard lock(mutex_);
  consoles_.insert(std::move(console));
}

void Hub::leave(const std::shared_ptr<Console>& console) {
  const std::lock_guard lock(mutex_);
  consoles_.erase(console);
}

bool Hub::go_live(Console& console, Sequence next) {
  const std::lock_guard lock(mutex_);
  console.live_ = next == newest_ + 1;
  return console.live_;
}

void Hub::answer(Console& console, std::uint64_t number, Message message) {
  const std::lock_guard lock(mutex_);
  console.answers_.emplace_back(number, std::move(message));
  wake(console);
}

Hub::Taken Hub::take(Console& console) {
  const std::lock_guard lock(mutex_);
  console.woken_ = false;
  console.bytes_ = 0;
  return {std::exchange(console.events_, {}), std::exchange(console.answers_, {}), console.live_};
}

Sequence Hub::newest() const {
  const std::lock_guard lock(mutex_);
  return newest_;
}

std::size_t Hub::consoles() const {
  const std::lock_guard lock(mutex_);
  return consoles_.size();
}

std::uint64_t Hub::dropped_to_catch_up() const {
  const std::lock_guard lock(mutex_);
  return dropped_;
}

void Hub::wake(Console& console) {
  if (std::exchange(console.woken_, true)) return;
  console.wake_();
}

}  // namespace stonecall::server
