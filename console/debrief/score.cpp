#include "console/debrief/score.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "console/advise/hindsight.hpp"
#include "console/advise/memory.hpp"
#include "console/picture/fold.hpp"

namespace stonecall::debrief {
namespace {

using picture::Picture;
using protocol::EventPtr;
using protocol::Uuid;

/// The event that this one is about: the note of a reading, the target of a correction.
const Uuid* about(const protocol::Event& event) {
  if (const auto* reading = std::get_if<protocol::Reading>(&event.body)) return &reading->note;
  if (const auto* amend = std::get_if<protocol::Amend>(&event.body)) return &amend->target;
  if (const auto* retract = std::get_if<protocol::Retract>(&event.body)) return &retract->target;
  return nullptr;
}

/// Grows a picture from what had happened, whether or not anybody had heard of it, read it from its
/// note or put it right: hindsight waits for none of these.
class AsHappened {
 public:
  /// `known` is the picture of all events: it has the times that were put right.
  AsHappened(const std::vector<EventPtr>& events, const Picture& known) {
    std::unordered_map<Uuid, const protocol::Event*, boost::hash<Uuid>> by_id;
    for (const auto& event : events) by_id.emplace(event->id, event.get());
    for (const auto& line : known.heard) by_id[line.event->id] = line.event.get();
    for (const auto& event : events) {
      const protocol::Event* root = by_id[event->id];
      // A correction of a correction of a reading is as deep as it goes; more is nobody's speech.
      for (int depth = 0; depth < 8 && about(*root); ++depth) {
        const auto target = by_id.find(*about(*root));
        if (target == by_id.end()) break;
        root = target->second;
      }
      events_.emplace_back(root->at.instant, event);
    }
    std::ranges::stable_sort(events_, {}, [](const auto& each) { return each.first; });
  }

  /// Moments may only grow.
  picture::PicturePtr by(Instant moment) {
    for (; next_ < events_.size() && events_[next_].first <= moment; ++next_)
      fold_.add(events_[next_].second);
    return fold_.picture();
  }

 private:
  std::vector<std::pair<Instant, EventPtr>> events_;  ///< by when what they tell of happened
  std::size_t next_ = 0;
  picture::Fold fold_;
};

std::optional<advise::Departure> hindsight(const Picture& then, Instant at, const Picture& known,
                                           advise::Memory& memory) {
  auto departure =
      advise::departure_in_hindsight(then, advise::assess(then, at, memory), known, memory);
  return departure && !departure->late ? std::move(departure) : std::nullopt;
}

Instant after(Instant moment, double minutes) {
  return moment + Milliseconds(std::llround(minutes * 60'000));
}

double acts_in_minutes(const Picture& picture) {
  if (!picture.plan) return 0;
  return picture.plan->link.delay_seconds / 60 + picture.plan->link.reaction_minutes;
}

bool speaks_of_leaving(const protocol::Call& call) {
  return call.says == protocol::Says::move_on ||
         (call.says == protocol::Says::stay && call.until.has_value());
}

JudgedCall judge(const Debrief& debrief, std::size_t index, const Picture& then,
                 advise::Memory& memory) {
  JudgedCall judged;
  judged.call = index;
  const auto& call = call_made(debrief, index);
  const Instant at = call.origin.at;
  const auto departure = hindsight(then, at, *debrief.picture, memory);
  if (!departure) return judged;
  const auto worth_at = [&](int minute) {
    const int within = std::clamp(minute, departure->earliest, departure->latest);
    return departure->mean_gain[static_cast<std::size_t>(within - departure->earliest)];
  };
  judged.best = after(at, departure->best);
  judged.best_worth = departure->gain;
  if (!speaks_of_leaving(call.call)) return judged;
  double minute = departure->earliest;
  if (call.call.says == protocol::Says::stay)
    minute =
        std::max(minute, static_cast<double>((call.call.until->instant - at).count()) / 60'000);
  judged.leaves = after(at, minute);
  judged.worth = worth_at(static_cast<int>(std::lround(minute)));
  return judged;
}

JudgedStay judge(const Debrief& debrief, const picture::Visit& visit, const Picture& then,
                 advise::Memory& memory) {
  JudgedStay stay{visit.station, visit.arrived, visit.left, {}, {}, {}};
  if (const auto departure = hindsight(then, visit.arrived, *debrief.picture, memory)) {
    stay.best = after(visit.arrived, departure->best);
    stay.useful_until = after(*stay.best, -acts_in_minutes(*debrief.picture));
  }
  return stay;
}

std::optional<bool> outcome_of(const Debrief& debrief, const picture::CallMade& call) {
  std::optional<bool> came_true;
  for (const auto& each : debrief.picture->remarks) {
    if (each.remark.about != call.origin.id) continue;
    if (each.remark.text.starts_with(came_true_words)) came_true = true;
    if (each.remark.text.starts_with(did_not_words)) came_true = false;
  }
  return came_true;
}

std::string elapsed(const Debrief& debrief, Instant at) {
  return protocol::elapsed_minutes_text(at - debrief.start);
}

std::string why_missed(const Debrief& debrief, const std::string& rock, int bagged) {
  const auto& picture = *debrief.picture;
  const auto first = picture::first_seen(picture, rock);
  if (!first) {
    const auto counted = debrief.last.whole.basis.counted;
    return counted > 0 ? "not met; " + std::to_string(counted) + " rocks were counted"
                       : std::string("not met, and nothing was counted");
  }
  std::string why = (bagged > 0 ? "first met at " : "met at ") + elapsed(debrief, *first);
  const auto* visit = picture::visit_at(picture, *first);
  if (!visit) return why + ", on the way";
  why += ", " + visit->station;
  if (visit->left) why += "; the party left there at " + elapsed(debrief, *visit->left);
  return why;
}

std::vector<MissedKind> missed_kinds(const Debrief& debrief) {
  std::vector<MissedKind> missed;
  for (const auto& row : debrief.last.whole.kinds) {
    const int expected = std::max(row.wanted, row.first_seen ? 1 : 0);
    if (row.bagged >= expected) continue;
    missed.push_back({row.rock, row.wanted, row.bagged, why_missed(debrief, row.rock, row.bagged)});
  }
  return missed;
}

}  // namespace

std::optional<Milliseconds> JudgedStay::to_spare(const Debrief& debrief) const {
  if (!call || !useful_until) return std::nullopt;
  return *useful_until - call_made(debrief, *call).origin.at;
}

std::optional<double> JudgedCall::regret() const {
  if (!worth || !best_worth) return std::nullopt;
  return std::max(0.0, *best_worth - *worth);
}

std::optional<double> ScoreSheet::brier() const {
  double sum = 0;
  std::size_t known = 0;
  for (const auto& each : chances) {
    if (!each.came_true) continue;
    sum += std::pow(each.chance - (*each.came_true ? 1 : 0), 2);
    ++known;
  }
  return known > 0 ? std::optional(sum / static_cast<double>(known)) : std::nullopt;
}

std::optional<double> ScoreSheet::mean_regret() const {
  double sum = 0;
  std::size_t judged = 0;
  for (const auto& each : calls) {
    if (const auto regret = each.regret()) {
      sum += *regret;
      ++judged;
    }
  }
  return judged > 0 ? std::optional(sum / static_cast<double>(judged)) : std::nullopt;
}

ScoreSheet score(const Debrief& debrief, const std::vector<EventPtr>& events,
                 const std::string& adviser) {
  ScoreSheet sheet;
  sheet.adviser = adviser;
  AsHappened happened(events, *debrief.picture);
  advise::Memory memory;
  std::size_t next_call = 0;
  const auto judge_calls_before = [&](std::optional<Instant> moment) {
    for (; next_call < debrief.calls.size(); ++next_call) {
      const auto& call = call_made(debrief, next_call);
      if (moment && call.origin.at >= *moment) return;
      if (call.origin.from != adviser) continue;
      if (call.call.chance && call.call.outcome)
        sheet.chances.push_back(
            {next_call, *call.call.chance, *call.call.outcome, outcome_of(debrief, call)});
      else
        sheet.calls.push_back(judge(debrief, next_call, *happened.by(call.origin.at), memory));
    }
  };
  for (const auto& visit : debrief.picture->visits) {
    judge_calls_before(visit.arrived);
    if (debrief.picture->plan && visit.station == debrief.picture->plan->base.station) continue;
    sheet.stays.push_back(judge(debrief, visit, *happened.by(visit.arrived), memory));
  }
  judge_calls_before({});

  for (const auto& judged : sheet.calls) {
    const auto& call = call_made(debrief, judged.call);
    if (!speaks_of_leaving(call.call)) continue;
    for (auto& stay : sheet.stays) {
      const bool during =
          call.origin.at >= stay.arrived && (!stay.left || call.origin.at < *stay.left);
      if (during && !stay.call) stay.call = judged.call;
    }
  }
  sheet.missed = missed_kinds(debrief);
  return sheet;
}

}  // namespace stonecall::debrief
