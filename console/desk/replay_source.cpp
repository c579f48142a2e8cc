#include "console/desk/replay_source.hpp"

#include <algorithm>
#include <fstream>

namespace stonecall::desk {
namespace {

using protocol::EventPtr;
using protocol::Instant;

Instant known_of(const protocol::Event& event) {
  return event.received.value_or(event.at).instant;
}

constexpr double slowest = 1, fastest = 600;

}  // namespace

ReplaySource::ReplaySource(ReplaySetup setup, Workers workers, Wake wake)
    : publisher_(workers, std::move(wake)),
      workers_(std::move(workers)),
      name_(std::move(setup.name)),
      mode_(setup.mode),
      beside_(std::move(setup.beside)),
      events_(std::move(setup.events)) {
  std::stable_sort(events_.begin(), events_.end(), [](const EventPtr& a, const EventPtr& b) {
    return known_of(*a) < known_of(*b);
  });
  if (!events_.empty()) {
    begin_ = known_of(*events_.front());
    end_ = known_of(*events_.back());
  }
  // The ruler begins with the exercise, however early its plan was filed.
  for (const EventPtr& event : events_)
    if (const auto* plan = std::get_if<protocol::PlanGiven>(&event->body)) {
      begin_ = std::max(begin_, std::min(plan->plan.start.instant, end_));
      break;
    }
  from_ = furthest_ = begin_;
  View first;  // says at once what sort of source this is
  first.mode = mode_;
  first.source = name_;
  first.now = begin_;
  first.playback = Playback{false, speed_, begin_, end_};
  publisher_.publish(std::move(first));
  thread_ = std::jthread([this](std::stop_token stop) { work(stop); });
}

ReplaySource::~ReplaySource() {
  thread_.request_stop();
  changed_.notify_all();
}

Instant ReplaySource::position_at(Clock::time_point when) const {
  if (!playing_) return from_;
  auto gone = std::chrono::duration<double, std::milli>(when - touched_).count() * speed_;
  return std::min(end_, from_ + protocol::Milliseconds(static_cast<std::int64_t>(gone)));
}

void ReplaySource::move(Instant to) {
  Instant last = mode_ == Mode::practice ? std::max(furthest_, position_at(Clock::now())) : end_;
  from_ = std::clamp(to, begin_, std::max(begin_, last));
  touched_ = Clock::now();
  moved_ = true;
  shown_ = false;
  changed_.notify_all();
}

void ReplaySource::seek(Instant to) {
  std::lock_guard lock(mutex_);
  move(to);
}

std::size_t ReplaySource::known_at(Instant now) const {
  auto after = std::upper_bound(events_.begin(), events_.end(), now,
                                [](Instant t, const EventPtr& e) { return t < known_of(*e); });
  return static_cast<std::size_t>(after - events_.begin());
}

void ReplaySource::step(int events) {
  std::lock_guard lock(mutex_);
  if (events_.empty()) return;
  auto here = static_cast<std::ptrdiff_t>(known_at(position_at(Clock::now())));
  auto wanted =
      std::clamp<std::ptrdiff_t>(here + events, 1, static_cast<std::ptrdiff_t>(events_.size()));
  playing_ = false;
  move(known_of(*events_[static_cast<std::size_t>(wanted - 1)]));
}

void ReplaySource::play(bool playing) {
  std::lock_guard lock(mutex_);
  Instant here = position_at(Clock::now());
  if (playing && here >= end_) here = begin_;
  playing_ = playing;
  furthest_ = std::max(furthest_, here);
  move(here);
}

void ReplaySource::speed(double times) {
  std::lock_guard lock(mutex_);
  Instant here = position_at(Clock::now());
  speed_ = std::clamp(times, slowest, fastest);
  furthest_ = std::max(furthest_, here);
  move(here);
}

void ReplaySource::post(EventPtr event) {
  if (!beside_.empty()) {
    std::ofstream out(beside_, std::ios::app | std::ios::binary);
    out << protocol::to_line(*event) << '\n';
  }
  std::lock_guard lock(mutex_);
  auto place = std::upper_bound(events_.begin(), events_.end(), known_of(*event),
                                [](Instant t, const EventPtr& e) { return t < known_of(*e); });
  events_.insert(place, std::move(event));
  ++edition_;
  moved_ = true;
  shown_ = false;
  changed_.notify_all();
}

void ReplaySource::settle() const {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [&] { return shown_; });
  lock.unlock();
  while (!publisher_.settled()) std::this_thread::yield();
}

void ReplaySource::work(std::stop_token stop) {
  picture::Fold fold;
  std::size_t folded = 0, edition = 0, read = 0;
  picture::PicturePtr picture;
  auto proposals = std::make_shared<const Proposals>();
  std::unique_lock lock(mutex_);
  while (!stop.stop_requested()) {
    // 1× needs its seconds; faster, as often as an eye can follow.
    auto pause =
        std::chrono::milliseconds(static_cast<int>(std::clamp(1000 / speed_, 40.0, 250.0)));
    auto touched = [&] { return moved_; };
    if (playing_)
      changed_.wait_for(lock, stop, pause, touched);
    else
      changed_.wait(lock, stop, touched);
    if (stop.stop_requested()) return;
    moved_ = false;
    const Instant now = position_at(Clock::now());
    if (playing_ && now >= end_) {
      playing_ = false;
      from_ = end_;
    }
    furthest_ = std::max(furthest_, now);
    const std::size_t wanted = known_at(now);
    const bool anew = wanted < folded || edition != edition_;
    edition = edition_;
    std::vector<EventPtr> added(events_.begin() + static_cast<std::ptrdiff_t>(anew ? 0 : folded),
                                events_.begin() + static_cast<std::ptrdiff_t>(wanted));
    View view;
    view.playback = Playback{playing_, speed_, begin_, end_};
    lock.unlock();

    if (anew) {
      fold = picture::Fold();
      read = 0;
    }
    folded = wanted;
    if (!added.empty() || !picture || anew) {
      fold.add(added);
      picture = fold.picture();
      if (workers_.read_note) {
        auto grown = std::make_shared<Proposals>(read == 0 ? Proposals{} : *proposals);
        for (const EventPtr& event : added)
          if (std::holds_alternative<protocol::VoiceNote>(event->body))
            if (auto made = workers_.read_note(*event, *picture); !made.empty())
              grown->emplace(event->id, std::move(made));
        proposals = std::move(grown);
        ++read;
      }
    }
    view.mode = mode_;
    view.source = name_;
    view.now = now;
    view.picture = picture;
    view.proposals = proposals;
    publisher_.publish(std::move(view));

    lock.lock();
    if (!moved_) {
      shown_ = true;
      changed_.notify_all();
    }
  }
}

}  // namespace stonecall::desk
