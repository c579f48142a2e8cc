#include "server/hub.hpp"

#include <algorithm>
#include <utility>

namespace stonecall::server {
namespace {

// Handing out may run ahead of its pace by so much: single events wait for nothing, however
// unevenly they come; a load without pauses is soon at its pace. A flood goes out in larger pieces
// at a slower pace: sending to each desk takes longer than taking what is sent.
constexpr auto pace = std::chrono::milliseconds(4);
constexpr auto ahead = 4 * pace;
constexpr auto slowest_pace = std::chrono::milliseconds(16);
constexpr auto pace_for_an_event = std::chrono::microseconds(100);
constexpr std::size_t woken_at_once = 8;
constexpr std::size_t joined_bytes = 128 * 1024;

/// Behind the last page, or into it while it is small.
void add(std::vector<Page>& pages, Page page) {
  if (pages.empty() || pages.back().text.size() + page.text.size() > joined_bytes) {
    pages.push_back(std::move(page));
    return;
  }
  Page& last = pages.back();
  last.text.append(",").append(page.text);
  last.last = page.last;
  last.count += page.count;
}

}  // namespace

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

void Hub::publish(std::vector<Page> pages) {
  Steady::duration wait{};
  {
    const std::lock_guard lock(mutex_);
    newest_ = pages.back().last;
    if (live_ == 0) return;
    for (Page& page : pages) add(pending_, std::move(page));
    if (std::exchange(hand_out_due_, true)) return;
    wait = until_next();
  }
  hand_out_in_(wait);
}

Hub::Steady::duration Hub::until_next() const {
  return std::max(Steady::duration::zero(), paid_until_ - ahead - Steady::now());
}

void Hub::hand_out() {
  Steady::duration wait{};
  {
    const std::lock_guard lock(mutex_);
    if (to_wake_.empty()) deal();
    wake_some();
    hand_out_due_ = !to_wake_.empty() || !pending_.empty();
    if (!hand_out_due_) return;
    if (to_wake_.empty()) wait = until_next();
  }
  hand_out_in_(wait);
}

void Hub::wake_some() {
  for (std::size_t i = 0; i < woken_at_once && !to_wake_.empty(); ++i) {
    to_wake_.back()->listed_ = false;
    wake(*to_wake_.back());
    to_wake_.pop_back();
  }
}

void Hub::deal() {
  if (pending_.empty()) return;
  std::size_t events = 0;
  for (const Page& page : pending_) events += page.count;
  paid_until_ = std::max(paid_until_, Steady::now()) +
                std::clamp<Steady::duration>(events * pace_for_an_event, pace, slowest_pace);
  for (const Page& page : std::exchange(pending_, {})) {
    const EventsMessage message = events_message(page);
    for (const auto& console : consoles_) {
      if (!console->live_) continue;
      if (console->bytes_ + message.text->size() > queue_bytes_) {
        end_live(*console);
        console->events_.clear();
        console->bytes_ = 0;
        ++dropped_;
      } else {
        console->events_.push_back(message);
        console->bytes_ += message.text->size();
      }
      if (!std::exchange(console->listed_, true)) to_wake_.push_back(console);
    }
  }
}

void Hub::end_live(Console& console) {
  if (std::exchange(console.live_, false)) --live_;
}

void Hub::join(std::shared_ptr<Console> console) {
  const std::lock_guard lock(mutex_);
  consoles_.insert(std::move(console));
}

void Hub::leave(const std::shared_ptr<Console>& console) {
  const std::lock_guard lock(mutex_);
  consoles_.erase(console);
  end_live(*console);
}

bool Hub::go_live(Console& console, Sequence next) {
  const std::lock_guard lock(mutex_);
  if (next != newest_ + 1) return false;
  deal();  // to the others; this one has it from the store
  if (!std::exchange(console.live_, true)) ++live_;
  return true;
}

void Hub::answer(Console& console, std::uint64_t number, Message message) {
  {
    const std::lock_guard lock(mutex_);
    console.answers_.emplace_back(number, std::move(message));
    if (std::exchange(console.woken_, true)) return;
  }
  console.wake_(Console::Wake::take);
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
  console.wake_(Console::Wake::hand_over);
}

}  // namespace stonecall::server
