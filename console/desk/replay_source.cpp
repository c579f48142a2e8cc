#include "console/desk/replay_source.hpp"

#include <algorithm>
#include <set>

#include "console/picture/history.hpp"
#include "protocol/append.hpp"

namespace stonecall::desk {
namespace {

using protocol::EventPtr;
using protocol::Instant;

Instant known(const EventPtr& event) {
  return protocol::known_at(*event).instant;
}

constexpr double slowest = 1, fastest = 600;
constexpr std::size_t prepared_at_a_time = 2000;  // events; some milliseconds
/// A log of so many events is gone through before its first picture is shown, in some tenths of a
/// second: else a jump far ahead in the first moments would take as long.
constexpr std::size_t prepared_at_once = 150'000;

/// Moments worth a jump, in order of time.
std::vector<Landmark> landmarks_of(const std::vector<EventPtr>& events) {
  using Kind = Landmark::Kind;
  std::vector<Landmark> found;
  std::set<std::string> samples;
  const auto of = [&](Instant at, const auto& body) {
    using Body = std::decay_t<decltype(body)>;
    const auto add = [&](Kind kind) { found.push_back({at, kind, {}, false}); };
    if constexpr (std::is_same_v<Body, protocol::Arrival>) add(Kind::arrival);
    if constexpr (std::is_same_v<Body, protocol::Departure>) add(Kind::departure);
    if constexpr (std::is_same_v<Body, protocol::Call>) add(Kind::call);
    if constexpr (std::is_same_v<Body, protocol::SampleTaken>) {
      // Only the first statement about a sample.
      std::string name = body.number ? "n" + *body.number : "b" + body.bag.value_or("");
      if (name == "b" || samples.insert(name).second) add(Kind::sample);
    }
  };
  for (const EventPtr& event : events) {
    const Instant at = known(event);
    std::visit([&](const auto& body) { of(at, body); }, event->body);
    if (const auto* reading = std::get_if<protocol::Reading>(&event->body);
        reading && reading->outcome != protocol::Outcome::declined)
      std::visit([&](const auto& fact) { of(at, fact); }, reading->fact);
    const auto* remark = std::get_if<protocol::Remark>(&event->body);
    if (!remark || !remark->pin.value_or(false)) continue;
    const bool beside = !event->seq;
    Instant marked = at;
    if (beside && remark->about) {
      const auto target = std::find_if(events.begin(), events.end(), [&](const EventPtr& each) {
        return each->id == *remark->about;
      });
      if (target != events.end()) marked = known(*target);
    }
    found.push_back({marked, Kind::pin, remark->text, beside});
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const Landmark& a, const Landmark& b) { return a.at < b.at; });
  return found;
}

}  // namespace

ReplaySource::ReplaySource(ReplaySetup setup, Workers workers, Wake wake)
    : publisher_(std::move(workers), std::move(wake)),
      name_(std::move(setup.name)),
      mode_(setup.mode),
      beside_(std::move(setup.beside)),
      events_(std::move(setup.events)) {
  std::ranges::stable_sort(events_, {}, known);
  if (!events_.empty()) {
    begin_ = known(events_.front());
    end_ = known(events_.back());
  }
  // The ruler begins with the exercise, however early its plan was filed.
  for (const EventPtr& event : events_)
    if (const auto* plan = std::get_if<protocol::PlanGiven>(&event->body)) {
      begin_ = std::max(begin_, std::min(plan->plan->start.instant, end_));
      break;
    }
  from_ = furthest_ = begin_;
  if (mode_ == Mode::replay)
    landmarks_ = std::make_shared<const std::vector<Landmark>>(landmarks_of(events_));
  View first;  // says at once what sort of source this is
  first.mode = mode_;
  first.source = name_;
  first.now = begin_;
  first.playback = Playback{false, speed_, begin_, end_, landmarks_, false};
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

std::size_t ReplaySource::count_known(Instant now) const {
  auto after = std::ranges::upper_bound(events_, now, {}, known);
  return static_cast<std::size_t>(after - events_.begin());
}

void ReplaySource::step(int events) {
  std::lock_guard lock(mutex_);
  if (events_.empty()) return;
  auto here = static_cast<std::ptrdiff_t>(count_known(position_at(Clock::now())));
  auto wanted =
      std::clamp<std::ptrdiff_t>(here + events, 1, static_cast<std::ptrdiff_t>(events_.size()));
  playing_ = false;
  move(known(events_[static_cast<std::size_t>(wanted - 1)]));
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

void ReplaySource::lay_end_beside(bool beside) {
  if (mode_ != Mode::replay) return;  // the future is hidden
  std::lock_guard lock(mutex_);
  end_beside_ = beside;
  moved_ = true;
  shown_ = false;
  changed_.notify_all();
}

void ReplaySource::post(EventPtr event) {
  const std::string why = beside_.empty()
                              ? std::string()
                              : protocol::append_lines(beside_, protocol::to_line(*event) + '\n');
  std::lock_guard lock(mutex_);
  not_kept_ = why;
  auto place = std::ranges::upper_bound(events_, known(event), {}, known);
  posted_.push_back({static_cast<std::size_t>(place - events_.begin()), event});
  events_.insert(place, std::move(event));
  if (mode_ == Mode::replay)
    landmarks_ = std::make_shared<const std::vector<Landmark>>(landmarks_of(events_));
  moved_ = true;
  shown_ = false;
  changed_.notify_all();
}

void ReplaySource::settle(std::size_t newest_notes) const {
  std::unique_lock lock(mutex_);
  changed_.wait(lock, [&] { return shown_; });
  lock.unlock();
  publisher_.settle(newest_notes);
}

void ReplaySource::work(std::stop_token stop) {
  std::unique_lock lock(mutex_);
  std::vector<EventPtr> all = events_;
  posted_.clear();
  lock.unlock();
  picture::History history(std::move(all));
  bool unprepared = true;
  while (unprepared && history.size() <= prepared_at_once && !stop.stop_requested())
    unprepared = history.prepare(prepared_at_a_time);
  lock.lock();
  picture::PicturePtr end;  ///< of all there is; null: not asked for yet
  while (!stop.stop_requested()) {
    // 1× needs its seconds; faster, as often as an eye can follow.
    auto pause =
        std::chrono::milliseconds(static_cast<int>(std::clamp(1000 / speed_, 40.0, 250.0)));
    auto touched = [&] { return moved_; };
    while (unprepared && shown_ && !moved_ && !playing_ && !stop.stop_requested()) {
      lock.unlock();
      unprepared = history.prepare(prepared_at_a_time);
      lock.lock();
    }
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
    const std::size_t wanted = count_known(now);
    const std::vector<Posted> posted = std::exchange(posted_, {});
    View view;
    view.not_kept = not_kept_;
    view.playback = Playback{playing_, speed_, begin_, end_, landmarks_, end_beside_};
    lock.unlock();

    for (const Posted& each : posted) history.insert(each.place, each.event);
    if (!posted.empty()) {
      end.reset();
      unprepared = true;  // what comes after it has to be gone through again
    }
    if (view.playback->end_beside && !end) end = history.at(history.size());
    view.mode = mode_;
    view.source = name_;
    view.now = now;
    view.picture = history.at(wanted);
    const bool beside = view.playback->end_beside;
    publisher_.publish(std::move(view), beside ? end : nullptr);

    lock.lock();
    if (!moved_) {
      shown_ = true;
      changed_.notify_all();
    }
  }
}

}  // namespace stonecall::desk
