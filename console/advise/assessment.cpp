#include "console/advise/assessment.hpp"

#include <algorithm>
#include <cmath>

#include "console/advise/evidence.hpp"
#include "console/advise/way_back.hpp"
#include "console/estimate/abundance.hpp"
#include "console/estimate/pace.hpp"
#include "console/estimate/unseen.hpp"

namespace stonecall::advise {
namespace {

using picture::Picture;
using protocol::Plan;

constexpr double kMillisecondsAMinute = 60'000;

double minutes(Milliseconds time) {
  return static_cast<double>(time.count()) / kMillisecondsAMinute;
}

Milliseconds from_minutes(double value) {
  return Milliseconds(static_cast<std::int64_t>(std::floor(value * kMillisecondsAMinute)));
}

const protocol::PlannedStation* planned(const Picture& picture, const std::string& station) {
  if (!picture.plan) return nullptr;
  const auto found =
      std::ranges::find(picture.plan->stations, station, &protocol::PlannedStation::station);
  return found == picture.plan->stations.end() ? nullptr : &*found;
}

protocol::Documentation standard_of(const Picture& picture) {
  return picture.plan ? picture.plan->documentation : protocol::Documentation{};
}

Clock clock_at(const Picture& picture, Instant now) {
  Clock clock;
  clock.elapsed = now - picture::start_of(picture);
  if (const auto* visit = picture::visit_at(picture, now)) {
    clock.station = visit->station;
    clock.here = picture::time_at(picture, visit->station, now);
    if (const auto* plan = planned(picture, visit->station))
      clock.allotted_minutes = plan->allotted_minutes;
  }
  if (const auto word = picture::last_word(picture)) clock.word_age = now - *word;
  return clock;
}

bool said_absent(const Picture& picture, const std::string& rock, const Where& where) {
  return std::ranges::any_of(picture.sightings, [&](const picture::Sighting& each) {
    return !each.present && each.rock == rock && where.includes(each.station);
  });
}

std::optional<NotSeenYet> not_seen_yet(const Picture& picture, const Where& where,
                                       const std::optional<PaceNow>& pace) {
  const auto counts = counts_at(picture, where, picture.kinds);
  const auto met = estimate::met_once_and_twice(counts);
  if (!met) return std::nullopt;
  NotSeenYet unseen;
  unseen.counted = static_cast<int>(met->counted);
  unseen.kinds_met = static_cast<int>(met->observed);
  const auto next = estimate::next_is_new(counts);
  if (!next) return std::nullopt;
  unseen.next_is_new = {next->probability, next->interval.lower, next->interval.upper};
  unseen.coverage = estimate::coverage_chao_jost(counts).value_or(0);
  if (pace)
    unseen.new_in_ten_minutes =
        estimate::expected_new_kinds(counts, 10 * pace->rocks_per_minute.mean).value_or(0);
  return unseen;
}

Ground ground_at(const Picture& picture, const Where& where, const std::optional<PaceNow>& pace) {
  Ground ground;
  ground.station = where.station;
  const auto met = kinds_met(picture, where);
  const auto evidence = evidence_at(picture, where, met);
  const double prior =
      picture.plan ? picture.plan->method.prior_each : protocol::Method{}.prior_each;
  const auto posterior = estimate::share_posterior(evidence, 1, prior);
  ground.basis = {static_cast<int>(posterior.basis.counted),
                  static_cast<int>(posterior.basis.looks), static_cast<int>(posterior.basis.shares),
                  static_cast<int>(posterior.basis.chosen_not_used), posterior.basis.design_effect};
  std::vector<estimate::ShareEstimate> shares;
  if (ground.basis.any()) shares = estimate::share_estimates(posterior);
  const auto figure = [&](std::size_t i) {
    return Figure{shares[i].mean, shares[i].interval.lower, shares[i].interval.upper};
  };

  const auto counts = counts_at(picture, where, picture.kinds);
  const auto standard = standard_of(picture);
  const std::optional<std::string> station =
      where.station.empty() ? std::nullopt : std::optional(where.station);
  for (std::size_t i = 0; i < picture.kinds.size(); ++i) {
    KindRow row;
    row.rock = picture.kinds[i];
    row.counted = static_cast<int>(counts[i]);
    for (const auto& sample : picture.samples) {
      if (!sample.taken || sample.rock != row.rock || !where.includes(sample.station)) continue;
      ++row.bagged;
      if (picture::gaps(sample, standard).empty()) ++row.documented;
    }
    if (picture.plan) {
      const auto wanted =
          std::ranges::find(picture.plan->wanted, row.rock, &protocol::WantedKind::rock);
      if (wanted != picture.plan->wanted.end()) row.wanted = wanted->number;
    }
    row.first_seen = picture::first_seen(picture, row.rock, station);
    row.said_absent = !row.first_seen && said_absent(picture, row.rock, where);
    const auto known = std::ranges::find(met, row.rock);
    if (!shares.empty() && known != met.end())
      row.share = figure(static_cast<std::size_t>(known - met.begin()));
    ground.kinds.push_back(std::move(row));
  }
  if (!shares.empty()) ground.other = figure(met.size());
  ground.unseen = not_seen_yet(picture, where, pace);
  return ground;
}

/// Sample time counts from the first to the last word of a sample. One word alone still took a
/// while, and a word that comes long after was not handling (both limits: common practice, no
/// source).
double handling_minutes(const picture::Sample& sample) {
  Instant last = sample.first;
  for (const auto& statement : sample.statements) last = std::max(last, statement.at);
  for (const auto& photo : sample.photos) last = std::max(last, photo.origin.at);
  return std::clamp(minutes(last - sample.first), 1.0, 15.0);
}

std::optional<PaceNow> pace_at(const Picture& picture, Instant now) {
  const protocol::Pace expected = picture.plan ? picture.plan->pace : protocol::Pace{};
  PaceNow pace;
  for (const auto& visit : picture.visits) {
    if (picture.plan && visit.station == picture.plan->base.station) continue;
    if (visit.arrived < now)
      pace.minutes += minutes(std::min(visit.left.value_or(now), now) - visit.arrived);
  }
  double handling = 0;
  for (const auto& sample : picture.samples) {
    if (!sample.taken || sample.first > now) continue;
    ++pace.samples;
    handling += handling_minutes(sample);
  }
  for (const auto& look : picture.looks) pace.rocks += look.total;
  pace.rocks += pace.samples;

  const double looking = std::max(pace.minutes - handling, 0.0);
  const auto rate = estimate::rate_posterior(pace.rocks, looking,
                                             expected.looks_per_minute * expected.sureness_minutes,
                                             expected.sureness_minutes);
  const auto each = estimate::handling_posterior(pace.samples, handling, expected.handling_minutes,
                                                 expected.sureness_samples);
  if (!rate || !each) return std::nullopt;
  const auto rate_interval = rate->interval();
  const auto each_interval = each->interval_minutes();
  pace.rocks_per_minute = {rate->mean(), rate_interval.lower, rate_interval.upper};
  pace.minutes_per_sample = {each->mean_minutes().value_or(each->median_minutes()),
                             each_interval.lower, each_interval.upper};
  return pace;
}

/// The next stop of the plan after a station; the first one before any was reached.
const protocol::PlannedStation* next_planned(const Plan& plan, const std::string& station) {
  const auto found = std::ranges::find(plan.stations, station, &protocol::PlannedStation::station);
  if (found == plan.stations.end() || std::next(found) == plan.stations.end()) return nullptr;
  return &*std::next(found);
}

std::optional<TurnBack> turn_back_from(const Plan& plan, const std::string& station) {
  const auto legs = legs_through(way_back(plan, station));
  if (legs.empty()) return std::nullopt;
  const auto times = turn_back_times(legs, walking_pace(plan), plan.duration_minutes,
                                     {plan.link.delay_seconds / 60, plan.link.reaction_minutes});
  if (!times) return std::nullopt;
  return TurnBack{station,
                  length_of(legs),
                  times->walk_minutes,
                  plan.walking.margin_percent,
                  from_minutes(times->latest_departure),
                  from_minutes(times->latest_useful_call)};
}

std::optional<TurnBack> turn_back_at(const Picture& picture, Instant now) {
  const auto* last = picture::last_visit(picture, now);
  if (!picture.plan || !last || last->station == picture.plan->base.station) return std::nullopt;
  auto back = turn_back_from(*picture.plan, last->station);
  // While they walk nobody knows how far they have come: the farther of the two ends is the safer
  // one to reckon from.
  const auto* next =
      picture::visit_at(picture, now) ? nullptr : next_planned(*picture.plan, last->station);
  if (next) {
    const auto ahead = turn_back_from(*picture.plan, next->station);
    if (ahead && (!back || ahead->latest_departure < back->latest_departure)) back = ahead;
  }
  return back;
}

}  // namespace

Assessment assess(const Picture& picture, Instant now) {
  Assessment assessment;
  assessment.now = now;
  assessment.events = picture.events;
  assessment.clock = clock_at(picture, now);
  assessment.pace = pace_at(picture, now);
  assessment.turn_back = turn_back_at(picture, now);

  const auto* last = picture::last_visit(picture, now);
  assessment.whole = ground_at(picture, {}, assessment.pace);
  // Before the first arrival there is no "here"; an unnamed station would stand for the whole
  // exercise.
  if (last) assessment.here = ground_at(picture, {last->station}, assessment.pace);

  const auto standard = standard_of(picture);
  for (std::size_t i = 0; i < picture.samples.size(); ++i) {
    const auto& sample = picture.samples[i];
    if (!sample.taken) continue;
    ++assessment.bagged;
    auto gaps = picture::gaps(sample, standard);
    if (gaps.empty()) ++assessment.documented;
    if (last && sample.station == last->station && !gaps.empty())
      assessment.missing.push_back({i, std::move(gaps)});
  }
  std::ranges::stable_sort(assessment.missing, {},
                           [](const SampleGaps& each) { return each.gaps.front(); });
  return assessment;
}

}  // namespace stonecall::advise
