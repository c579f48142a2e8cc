#include "server/player.hpp"

#include <algorithm>
#include <cassert>
#include <future>
#include <map>
#include <sstream>
#include <utility>
#include <variant>

#include <spdlog/spdlog.h>

#include "protocol/log.hpp"

namespace stonecall::server {
namespace {

using protocol::EventPtr;
using protocol::Milliseconds;
using protocol::Timestamp;

constexpr std::size_t most_at_once = 500;
constexpr auto retry = std::chrono::seconds(1);

bool is_plan(const EventPtr& event) {
  return std::holds_alternative<protocol::PlanGiven>(event->body);
}

Timestamp start_of(const std::vector<EventPtr>& events) {
  const auto plan = std::find_if(events.begin(), events.end(), is_plan);
  if (plan != events.end()) return std::get<protocol::PlanGiven>((*plan)->body).plan->start;
  return events.empty() ? Timestamp{} : events.front()->at;
}

/// Where playing begins.
Timestamp position_in(const std::vector<EventPtr>& events, const PlayOptions& options) {
  const Timestamp start = start_of(events);
  if (options.from) return {start.instant + *options.from, start.offset};
  // A plan is often written the day before; nobody wants to wait for the day to pass.
  const auto first = std::find_if_not(events.begin(), events.end(), is_plan);
  return first != events.end() ? known_at(**first) : start;
}

/// When the log has been played.
protocol::Instant end_of(const std::vector<EventPtr>& events, const PlayOptions& options) {
  protocol::Instant end = position_in(events, {}).instant;
  for (const EventPtr& event : events) end = std::max(end, known_at(*event).instant);
  if (options.until) end = std::max(end, start_of(events).instant + *options.until);
  return end;
}

}  // namespace

std::optional<std::string> why_not_played(const Store& store, const std::vector<EventPtr>& events,
                                          const PlayOptions& options) {
  const auto start = start_of(events).instant;
  const auto position = position_in(events, options).instant;
  const auto end = end_of(events, options);
  if (position > end)
    return "--play-from: the log ends at " + protocol::elapsed_text(end - start) + " already";
  std::map<protocol::Uuid, protocol::Instant> in_log;
  for (const EventPtr& event : events) in_log.emplace(event->id, known_at(*event).instant);
  const Sequence newest = store.newest();
  std::optional<protocol::Instant> played_to;
  for (Sequence after = 0; after < newest;) {
    constexpr std::size_t page_bytes = 1024 * 1024;
    const auto page = store.read(after, newest, page_bytes, '\n');
    if (!page) return page.error().what;
    if (page->count == 0) break;
    std::istringstream lines(page->text + '\n');
    for (const EventPtr& event : protocol::read_log(lines).events) {
      const auto found = in_log.find(event->id);
      if (found != in_log.end()) played_to = std::max(found->second, played_to.value_or(start));
    }
    after = page->last;
  }
  if (newest > 0 && !played_to)
    return std::string(
        "the store holds another exercise, which would be mixed up with this log: "
        "give a new --store");
  if (options.unseen && played_to && *played_to > position) {
    std::string why = "the store holds what is still to be seen: give a new --store";
    const auto from = std::chrono::ceil<std::chrono::seconds>(*played_to - start);
    if (start + from < end)
      why += ", or --play-from " + protocol::elapsed_text(from) + " to go on where it was";
    return why;
  }
  return std::nullopt;
}

Player::Player(Store& store, ServerClock& clock, std::vector<EventPtr> events, PlayOptions options)
    : store_(store),
      clock_(clock),
      events_(std::move(events)),
      options_(options),
      start_(start_of(events_)),
      speed_(options_.speed),
      begun_(!options_.wait) {
  assert(speed_ > 0);
  if (events_.empty()) return;
  const Timestamp position = position_in(events_, options_);
  end_ = end_of(events_, options_);
  clock_.hold(position);
  for (auto due = due_by(position.instant); !due.empty() && post(due);
       due = due_by(position.instant)) {
    next_ += due.size();
  }
  spdlog::info("player: {} of {} events stored, the rest is played from {} at {} times its pace",
               next_, events_.size(), to_string(position), speed_);
  thread_ = std::jthread([this](const std::stop_token& stop) { play(stop); });
}

Player::~Player() {
  end();
}

void Player::end() {
  thread_.request_stop();
  if (thread_.joinable()) thread_.join();
}

void Player::begin() {
  const std::lock_guard lock(mutex_);
  begun_ = true;
  wake_.notify_all();
}

tl::expected<void, std::string> Player::change(const PlayChange& change) {
  if (options_.unseen && (change.speed || change.to))
    return tl::unexpected(
        std::string("the log is played for practice: it may be paused, and else goes on as it is"));
  const std::lock_guard lock(mutex_);
  if (over()) return tl::unexpected(std::string("the log has been played to its end"));
  const Timestamp now = clock_.now();
  if (change.to && start_.instant + *change.to < now.instant) {
    return tl::unexpected(
        "the log has been played to " + protocol::elapsed_text(now.instant - start_.instant) +
        " already, and what has happened stays; each desk can look back by itself");
  }
  if (change.paused) paused_ = *change.paused;
  if (change.speed) speed_ = *change.speed;
  // Behind the end there is nothing, and no way back from there.
  if (change.to) to_ = std::min(start_.instant + *change.to, end_);
  if (begun_) run_clock(now);
  changed_ = true;
  wake_.notify_all();
  return {};
}

PlayState Player::state() const {
  const std::lock_guard lock(mutex_);
  return {clock_.now().instant - start_.instant,
          end_ - start_.instant,
          speed_,
          paused_,
          !begun_,
          next_,
          events_.size(),
          options_.unseen};
}

void Player::run_clock(const Timestamp& from) {
  if (paused_)
    clock_.hold(from);
  else
    clock_.play(from, std::max(end_, from.instant), speed_);
}

void Player::play(const std::stop_token& stop) {
  std::unique_lock lock(mutex_);
  if (!wake_.wait(lock, stop, [this] { return begun_; })) return;
  run_clock(clock_.now());
  while (!over() && !stop.stop_requested()) {
    changed_ = false;
    const auto now = clock_.now();
    const auto due = due_by(to_.value_or(now.instant));
    if (!due.empty()) {
      lock.unlock();
      const bool stored = post(due);
      lock.lock();
      if (stored)
        next_ += due.size();
      else
        wake_.wait_for(lock, stop, retry, [this] { return changed_; });
    } else if (to_) {
      // Only now that all before it is there.
      run_clock({std::max(*to_, now.instant), now.offset});
      to_.reset();
    } else if (paused_) {
      wake_.wait(lock, stop, [this] { return changed_; });
    } else {
      const auto next = next_ < events_.size() ? known_at(*events_[next_]).instant : end_;
      const std::chrono::duration<double, std::milli> ahead = next - now.instant;
      wake_.wait_for(lock, stop, ahead / speed_, [this] { return changed_; });
    }
  }
  if (over()) {
    if (std::exchange(paused_, false)) run_clock(clock_.now());
    spdlog::info("player: the log has ended");
  }
}

bool Player::over() const {
  return next_ == events_.size() && !to_ && clock_.now().instant >= end_;
}

std::vector<EventPtr> Player::due_by(protocol::Instant now) const {
  std::size_t next = next_;
  std::vector<EventPtr> due;
  while (next < events_.size() && due.size() < most_at_once &&
         known_at(*events_[next]).instant <= now) {
    due.push_back(events_[next++]);
  }
  return due;
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
