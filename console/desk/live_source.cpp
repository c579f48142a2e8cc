#include "console/desk/live_source.hpp"

#include <algorithm>

#include "console/picture/fold.hpp"

namespace stonecall::desk {
namespace {

using namespace std::chrono_literals;
using protocol::EventPtr;
using protocol::Instant;
using Phase = protocol::LinkState::Phase;

constexpr auto patience = 2000ms;  // at the end, for what is still to go out
// So long before its planned start and after its planned end something may still be of an exercise.
constexpr auto around_exercise = 2h;
constexpr auto late_heartbeat = 4000ms;  // the server speaks once a second

Instant this_clock() {
  return std::chrono::floor<protocol::Milliseconds>(std::chrono::system_clock::now());
}

protocol::ClientOptions options_for(const LiveSetup& setup, std::function<void()> wake) {
  protocol::ClientOptions options;
  options.server = setup.server;
  options.token = setup.token;
  options.wake = std::move(wake);
  return options;
}

/// Was it done in the hours of this exercise, as far as the plan knows them?
bool in_hours(const protocol::Plan& plan, Instant at) {
  const Instant begin = plan.start.instant - around_exercise;
  const Instant end =
      plan.start.instant + protocol::from_minutes(plan.duration_minutes) + around_exercise;
  return begin <= at && at <= end;
}

LinkState shown(const protocol::LinkState& link, Instant here) {
  LinkState out;
  // Told in the time of the exercise, as all else on the desk.
  if (link.since) out.since = link.server_time(*link.since);
  out.waiting = link.waiting;
  out.clock_offset = link.clock_offset;
  out.words = link.why;
  switch (link.phase) {
    case Phase::connecting:
    case Phase::catching_up:
      out.kind = LinkState::Kind::connecting;
      break;
    case Phase::live:
      out.kind = LinkState::Kind::connected;
      break;
    case Phase::waiting:
    case Phase::closed:
      out.kind = LinkState::Kind::lost;
      break;
    case Phase::refused:
      out.kind = LinkState::Kind::refused;
      break;
  }
  if (out.kind == LinkState::Kind::connected && link.last_word &&
      here - *link.last_word > late_heartbeat) {
    out.kind = LinkState::Kind::lost;
    out.since = link.server_time(*link.last_word);
    out.words = "the server is silent";
  }
  return out;
}

}  // namespace

LiveSource::LiveSource(LiveSetup setup, Workers workers, Wake wake)
    : setup_(std::move(setup)),
      publisher_(std::move(workers), std::move(wake)),
      client_(options_for(setup_, [this] { rouse(); })),
      kept_(setup_.unsent, name_of_server(setup_.server), setup_.unsent_before) {
  if (setup_.mode == Mode::live) elsewhere_ = kept_elsewhere(setup_.unsent);
  // What could not go out last time goes out once the server has said that it has the exercise for
  // which it was meant; its id keeps it from being stored twice.
  for (const KeptPosts::Left& left : kept_.left()) ours_.push_back(left.event);
  held_ = kept_.left();
  View first;  // says at once what sort of source this is
  first.mode = setup_.mode;
  first.source = setup_.words;
  first.now = this_clock();
  first.link.kind = LinkState::Kind::connecting;
  publisher_.publish(std::move(first));
  thread_ = std::jthread([this](std::stop_token stop) { work(stop); });
}

LiveSource::~LiveSource() {
  thread_.request_stop();
  rouse();
  thread_.join();
  end_pause();
  client_.close(patience);
  let_go_of_sent();
}

void LiveSource::let_go_of_sent() {
  std::lock_guard lock(kept_mutex_);
  if (client_.link().waiting == 0 && held_.empty() && !keep_all_)
    kept_.clear();
  else
    kept_.sync();
}

void LiveSource::rouse() {
  std::lock_guard lock(mutex_);
  roused_ = true;
  changed_.notify_all();
}

void LiveSource::post(EventPtr event) {
  {
    const auto view = publisher_.view();
    const protocol::Plan* plan = view->plan();
    if (!plan && setup_.plan) plan = &*setup_.plan;  // with which the desk was opened
    const std::string exercise = plan ? name_of_exercise(*plan) : std::string();
    std::lock_guard lock(kept_mutex_);
    if (!settled_)
      held_.push_back({event, exercise});
    else if (!client_.post(event))
      return;
    kept_.add(*event, exercise);
  }
  std::lock_guard lock(mutex_);
  ours_.push_back(std::move(event));
  roused_ = true;
  changed_.notify_all();
}

/// All that the server has was heard: what is held goes out, or stays for the exercise it is of.
void LiveSource::settle_held(const std::vector<EventPtr>& heard, std::vector<EventPtr>& not_ours) {
  const std::lock_guard lock(kept_mutex_);
  if (std::exchange(settled_, true)) return;
  if (held_.empty()) return;
  std::vector<const protocol::Plan*> theirs;
  const auto see = [&](const EventPtr& event) {
    if (const auto* given = std::get_if<protocol::PlanGiven>(&event->body))
      theirs.push_back(&*given->plan);
  };
  for (const EventPtr& event : heard)
    if (event->seq) see(event);
  const bool has_plan = !theirs.empty();
  // A server without a plan has the exercise whose plan we are about to give it.
  if (theirs.empty() && setup_.plan) theirs.push_back(&*setup_.plan);
  if (theirs.empty())
    for (const KeptPosts::Left& left : held_) see(left.event);
  const auto claims = [&](const KeptPosts::Left& left) {
    if (!left.exercise.empty())
      return std::ranges::any_of(theirs, [&](const protocol::Plan* plan) {
        return name_of_exercise(*plan) == left.exercise;
      });
    // Nobody knew yet for which exercise it was: by its time it is of this one, or of none that is
    // known.
    return !has_plan || std::ranges::any_of(theirs, [&](const protocol::Plan* plan) {
      return in_hours(*plan, left.event->at.instant);
    });
  };
  std::vector<KeptPosts::Left> aside;
  for (KeptPosts::Left& left : std::exchange(held_, {})) {
    if (claims(left))
      client_.post(left.event);
    else
      aside.push_back(std::move(left));
  }
  keep_all_ |= !kept_.set_aside(aside);
  for (const KeptPosts::Left& left : aside) {
    not_ours.push_back(left.event);
    if (left.exercise.empty()) {
      unclaimed_.push_back(left);
      continue;
    }
    const MeantFor meant_for{name_of_server(setup_.server), left.exercise};
    auto known = std::ranges::find(elsewhere_, meant_for, &KeptElsewhere::meant_for);
    if (known == elsewhere_.end())
      known = elsewhere_.insert(known, {meant_for, 0, kept_aside(setup_.unsent)});
    ++(*known).posts;
  }
}

void LiveSource::send_unclaimed() {
  std::vector<KeptPosts::Left> mine;
  {
    const auto view = publisher_.view();
    const std::string exercise = view->plan() ? name_of_exercise(*view->plan()) : std::string();
    const std::lock_guard lock(kept_mutex_);
    mine = std::exchange(unclaimed_, {});
    for (const KeptPosts::Left& left : mine) {
      client_.post(left.event);
      kept_.add(*left.event, exercise);
    }
    kept_.sync();
    kept_.take_from_aside(mine);
  }
  if (mine.empty()) return;
  const std::lock_guard lock(mutex_);
  for (KeptPosts::Left& left : mine) ours_.push_back(std::move(left.event));
  roused_ = true;
  changed_.notify_all();
}

void LiveSource::give(const protocol::Plan& plan, Instant now) {
  protocol::Event event;
  event.id = protocol::random_uuid();
  event.at = {now, plan.start.offset};
  event.from = setup_.name;
  event.body = protocol::PlanGiven{plan};
  post(std::make_shared<const protocol::Event>(std::move(event)));
}

void LiveSource::play(bool playing) {
  if (!setup_.hold) return;
  std::lock_guard lock(mutex_);
  to_hold_ = !playing;
  roused_ = true;
  changed_.notify_all();
}

void LiveSource::hold_or_go_on(Instant now) {
  bool to_hold = false;
  {
    std::lock_guard lock(mutex_);
    to_hold = to_hold_;
  }
  if (!setup_.hold || to_hold == pause_.has_value()) return;
  not_held_ = setup_.hold(to_hold).value_or("");
  if (!not_held_.empty()) {
    std::lock_guard lock(mutex_);
    to_hold_ = pause_.has_value();
  } else if (to_hold) {
    pause_ = Pause{std::chrono::steady_clock::now(), now};
  } else {
    end_pause();
  }
}

void LiveSource::end_pause() {
  if (!pause_) return;
  const auto span = std::chrono::steady_clock::now() - pause_->since;
  if (setup_.paused) setup_.paused(pause_->at, std::chrono::round<protocol::Milliseconds>(span));
  pause_.reset();
}

void LiveSource::keep_down(LinkState& link) {
  using Kind = LinkState::Kind;
  if (link.kind == Kind::lost) {
    if (!down_) down_ = Down{link.since, {}};
    down_->why = link.words;
  } else if (link.kind != Kind::connecting) {
    down_.reset();
  }
  if (!down_) return;
  link.kind = Kind::lost;
  link.since = down_->since;
  link.words = down_->why;
}

void LiveSource::work(std::stop_token stop) {
  picture::Fold fold;
  picture::PicturePtr picture;
  std::vector<EventPtr> all;  // to fold anew without a post that was refused
  std::optional<LinkState::Refused> refused;
  std::optional<protocol::Plan> plan = setup_.plan;  // to be given yet
  while (!stop.stop_requested()) {
    protocol::LinkState link = client_.link();
    std::vector<EventPtr> added;
    {
      std::unique_lock lock(mutex_);
      // A played log runs faster than the clock on the wall; its seconds want
      // to be seen too.
      auto pause = std::chrono::milliseconds(
          static_cast<int>(std::clamp(1000 / std::max(1.0, link.clock_speed), 100.0, 1000.0)));
      changed_.wait_for(lock, stop, pause, [&] { return roused_; });
      roused_ = false;
      added.swap(ours_);
    }
    if (stop.stop_requested()) return;
    let_go_of_sent();
    protocol::Incoming incoming = client_.take();
    added.insert(added.end(), std::make_move_iterator(incoming.events.begin()),
                 std::make_move_iterator(incoming.events.end()));
    bool anew = false;
    all.insert(all.end(), added.begin(), added.end());
    for (const protocol::PostResult& result : incoming.results) {
      if (result.refused.empty()) continue;
      // The server may hold another event of this id; that one stays.
      const auto is_it = [&](const EventPtr& event) {
        return event->id == result.id && !event->seq;
      };
      const auto ours = std::ranges::find_if(all, is_it);
      refused = LinkState::Refused{ours == all.end() ? nullptr : *ours, result.refused};
      anew |= std::erase_if(all, is_it) > 0;
    }
    // Looked at before the events were taken: all that the server had is among them.
    if (link.phase == Phase::live) {
      std::vector<EventPtr> not_ours;
      settle_held(all, not_ours);
      anew |= std::erase_if(all, [&](const EventPtr& event) {
                return !event->seq && std::ranges::find(not_ours, event) != not_ours.end();
              }) > 0;
    }
    if (anew) fold = picture::Fold();
    if (!added.empty() || anew) {
      fold.add(anew ? all : added);
      picture = fold.picture();
    }
    const Instant here = this_clock();
    if (link.phase == Phase::live && plan) {
      if (!picture || !picture->plan) give(*plan, link.server_time(here));
      plan.reset();
    }
    link = client_.link();
    View view;
    view.mode = setup_.mode;
    view.source = setup_.words;
    view.recorded_party = setup_.recorded_party;
    view.now = link.server_time(here);
    hold_or_go_on(view.now);
    if (setup_.hold) view.held = pause_.has_value();
    view.not_held = not_held_;
    // Until the server has told its time nothing says which moment the picture is of; numbers of
    // another moment would be shown.
    if (link.clock_offset || !link.connected()) view.picture = picture;
    view.link = shown(link, here);
    keep_down(view.link);
    view.link.refused = refused;
    {
      const std::lock_guard lock(kept_mutex_);
      view.link.waiting += held_.size();
      view.link.elsewhere = elsewhere_;
      view.link.unclaimed = unclaimed_.size();
      view.not_kept = kept_.fault();
    }
    publisher_.publish(std::move(view));
  }
}

}  // namespace stonecall::desk
