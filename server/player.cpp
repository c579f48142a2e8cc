#include "server/player.hpp"

#include <algorithm>
#include <cassert>
#include <future>
#include <variant>

#include <spdlog/spdlog.h>

namespace stonecall::server {
namespace {

using protocol::Event;
using protocol::EventPtr;
using protocol::Milliseconds;
using protocol::Timestamp;

constexpr std::size_t most_at_once = 500;
constexpr auto retry = std::chrono::seconds(1);

Timestamp known_at(const Event& event) {
  return event.received.value_or(event.at);
}

bool is_plan(const EventPtr& event) {
  return std::holds_alternative<protocol::PlanGiven>(event->body);
}

Timestamp start_of(const std::vector<EventPtr>& events) {
  const auto plan = std::find_if(events.begin(), events.end(), is_plan);
  if (plan != events.end()) return std::get<protocol::PlanGiven>((*plan)->body).plan.start;
  return events.empty() ? Timestamp{} : events.front()->at;
}

}  // namespace

Player::Player(Store& store, ServerClock& clock, std::vector<EventPtr> events, PlayOptions options)
    : store_(store),
      clock_(clock),
      events_(std::move(events)),
      options_(options),
      start_(start_of(events_)) {
  assert(options_.speed > 0);
  if (events_.empty()) return;
  if (options_.from) {
    position_ = {start_.instant + *options_.from, start_.offset};
  } else {
    // A plan is often written the day before; nobody wants to wait for the day to pass.
    const auto first = std::find_if_not(events_.begin(), events_.end(), is_plan);
    position_ = first == events_.end() ? start_ : known_at(**first);
  }
  clock_.hold(position_);
  thread_ = std::jthread([this](const std::stop_token& stop) { play(stop); });
}

void Player::begin() {
  const std::lock_guard lock(mutex_);
  begun_ = true;
  wake_.notify_all();
}

void Player::play(const std::stop_token& stop) {
  const auto until = [](const Timestamp& so_far, const EventPtr& event) {
    return known_at(*event).instant > so_far.instant ? known_at(*event) : so_far;
  };
  // What came before the position is there before anyone is shown the clock running.
  std::size_t next = 0;
  for (auto due = due_after(next); !due.empty() && !stop.stop_requested(); due = due_after(next)) {
    if (post(due))
      next += due.size();
    else
      pause(stop, retry);
  }
  if (options_.wait) {
    std::unique_lock lock(mutex_);
    if (!wake_.wait(lock, stop, [this] { return begun_; })) return;
  }

  Timestamp last = position_;
  for (const EventPtr& event : events_) last = until(last, event);
  clock_.play(position_, last.instant, options_.speed);
  spdlog::info("player: {} of {} events stored, playing the rest from {} at {} times its pace",
               next, events_.size(), to_string(position_), options_.speed);
  while (next < events_.size() && !stop.stop_requested()) {
    const auto due = due_after(next);
    if (due.empty()) {
      const std::chrono::duration<double, std::milli> ahead =
          known_at(*events_[next]).instant - clock_.now().instant;
      pause(stop, ahead / options_.speed);
    } else if (post(due)) {
      next += due.size();
    } else {
      pause(stop, retry);
    }
  }
  if (next == events_.size()) spdlog::info("player: the log has ended");
}

std::vector<EventPtr> Player::due_after(std::size_t next) const {
  const auto now = clock_.now().instant;
  std::vector<EventPtr> due;
  while (next < events_.size() && due.size() < most_at_once &&
         known_at(*events_[next]).instant <= now) {
    due.push_back(events_[next++]);
  }
  return due;
}

void Player::pause(const std::stop_token& stop, std::chrono::duration<double, std::milli> time) {
  std::unique_lock lock(mutex_);
  wake_.wait_for(lock, stop, time, [] { return false; });
}

bool Player::post(const std::vector<EventPtr>& events) {
  std::vector<Draft> drafts;
  for (const EventPtr& event : events) {
    Draft& draft = drafts.emplace_back(draft_of(*event));
    draft.received = known_at(*event);
  }
  std::promise<PostOutcome> stored;
  store_.post(std::move(drafts),
              [&](PostOutcome outcome) { stored.set_value(std::move(outcome)); });
  const PostOutcome outcome = stored.get_future().get();
  if (!outcome) {
    spdlog::warn("player: the store does not take events now: {}", outcome.error().what);
    return false;
  }
  for (const Placed& placed : *outcome) {
    if (!placed.refused.empty())
      spdlog::warn("player: an event of the log was refused: {}", placed.refused);
  }
  return true;
}

}  // namespace stonecall::server
