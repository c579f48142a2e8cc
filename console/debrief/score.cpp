#include "console/debrief/score.hpp"

#include <algorithm>
#include <cmath>

#include "console/advise/hindsight.hpp"
#include "console/advise/memory.hpp"
#include "console/debrief/chances.hpp"
#include "console/debrief/unfolding.hpp"
#include "console/plates/count_text.hpp"

namespace stonecall::debrief {
namespace {

using picture::Picture;
using protocol::EventPtr;

/// With a departure that can still be made, or none.
advise::InHindsight hindsight(const Picture& then, const advise::Assessment& assessment,
                              const Picture& known, advise::Memory& memory) {
  auto weighed = advise::in_hindsight(then, assessment, known, memory);
  if (weighed.departure && weighed.departure->late) weighed.departure.reset();
  return weighed;
}

double acts_in_minutes(const Picture& picture) {
  if (!picture.plan) return 0;
  return picture.plan->link.delay_seconds / 60 + picture.plan->link.reaction_minutes;
}

bool speaks_of_leaving(const protocol::Call& call) {
  return call.says == protocol::Says::move_on ||
         (call.says == protocol::Says::stay && call.until.has_value());
}

/// The latest departure, where a call to stay reaches a minute or more past it: less is not heard
/// in a time said in minutes.
std::optional<Instant> past_limit(const picture::CallMade& call, const Picture& then,
                                  const advise::Assessment& assessment) {
  const auto* visit = picture::visit_at(then, call.origin.at);
  if (!visit || !assessment.turn_back || !call.call.until || call.call.says != protocol::Says::stay)
    return std::nullopt;
  const Instant latest = picture::start_of(then) + assessment.turn_back->latest_departure;
  return call.call.until->instant >= latest + std::chrono::minutes(1) ? std::optional(latest)
                                                                      : std::nullopt;
}

JudgedCall judge(const Debrief& debrief, std::size_t index, const Picture& then,
                 advise::Memory& memory) {
  JudgedCall judged;
  judged.call = index;
  const auto& call = call_made(debrief, index);
  const Instant at = call.origin.at;
  const auto assessment = advise::assess(then, at, memory);
  judged.past_limit = past_limit(call, then, assessment);
  const auto weighed = hindsight(then, assessment, *debrief.picture, memory);
  const auto& departure = weighed.departure;
  if (!departure) return judged;
  const auto worth_at = [&](int minute) {
    const int within = std::clamp(minute, departure->earliest, departure->latest);
    return departure->mean_gain[static_cast<std::size_t>(within - departure->earliest)];
  };
  judged.best = at + protocol::from_minutes(departure->best);
  judged.best_worth = departure->gain;
  if (!speaks_of_leaving(call.call)) return judged;
  double minute = departure->earliest;
  if (call.call.says == protocol::Says::stay)
    minute = std::max(minute, protocol::in_minutes(call.call.until->instant - at));
  judged.leaves = at + protocol::from_minutes(minute);
  if (judged.past_limit) return judged;
  judged.worth = worth_at(static_cast<int>(std::lround(minute)));
  return judged;
}

JudgedStay judge(const Debrief& debrief, const picture::Visit& visit, const Picture& then,
                 advise::Memory& memory) {
  JudgedStay stay{visit.station, visit.arrived, visit.left, {}, {}, {}};
  if (const auto weighed =
          hindsight(then, advise::assess(then, visit.arrived, memory), *debrief.picture, memory);
      weighed.departure) {
    stay.best = visit.arrived + protocol::from_minutes(weighed.departure->best);
    stay.useful_until = *stay.best - protocol::from_minutes(acts_in_minutes(*debrief.picture));
  }
  return stay;
}

std::string elapsed(const Debrief& debrief, Instant at) {
  return protocol::elapsed_minutes_text(at - debrief.start);
}

std::string why_missed(const Debrief& debrief, const std::string& rock, int bagged) {
  const auto& picture = *debrief.picture;
  const auto first = picture::first_seen(picture, rock);
  if (!first) {
    const auto counted = debrief.last.whole.basis.counted;
    return counted > 0 ? "not met; " + plates::count(counted, "rock was", "rocks were") + " counted"
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

std::vector<Milliseconds> pauses_in(const std::vector<EventPtr>& events,
                                    const std::string& adviser) {
  std::vector<Milliseconds> pauses;
  for (const EventPtr& event : events) {
    const auto* remark = std::get_if<protocol::Remark>(&event->body);
    if (remark && remark->paused_seconds && event->from == adviser)
      pauses.emplace_back(std::llround(*remark->paused_seconds * 1000));
  }
  return pauses;
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
  Unfolding happened = as_happened(events, *debrief.picture);
  advise::Memory memory;
  std::size_t next_call = 0;
  const auto judge_calls_before = [&](std::optional<Instant> moment) {
    for (; next_call < debrief.calls.size(); ++next_call) {
      const auto& call = call_made(debrief, next_call);
      if (moment && call.origin.at >= *moment) return;
      if (call.origin.from != adviser) continue;
      if (call.call.chance && call.call.outcome)
        sheet.chances.push_back({next_call, *call.call.chance, *call.call.outcome,
                                 outcome_of(*debrief.picture, call.origin.id)});
      if (!protocol::only_states_a_chance(call.call))
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
  sheet.pauses = pauses_in(events, adviser);
  return sheet;
}

}  // namespace stonecall::debrief
