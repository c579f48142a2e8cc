#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <random>
#include <sstream>

#include "console/advise/assessment.hpp"
#include "console/advise/call.hpp"
#include "console/advise/evidence.hpp"
#include "console/advise/hindsight.hpp"
#include "console/advise/memory.hpp"
#include "console/advise/pace_record.hpp"
#include "console/advise/plan_trust.hpp"
#include "console/advise/way_back.hpp"

// From the picture to the plain numbers that the call is worked out from, and back to words.
namespace stonecall::advise {
namespace {

using picture::Picture;
using protocol::from_minutes;
using protocol::in_minutes;
using protocol::Plan;
using protocol::PlannedStation;

/// Minutes to make up what is missing while still there (common practice, no source): a picture
/// takes a walk round the rock, a word takes a breath.
double minutes_for(picture::Gap gap) {
  using picture::Gap;
  switch (gap) {
    case Gap::stereo_pair:
      return 1;
    case Gap::down_sun:
    case Gap::after:
    case Gap::tie:
      return 0.5;
    default:
      return 0.25;
  }
}

/// A call is heard once, over a bad line: three things are remembered, seven are not.
constexpr std::size_t kThingsInACall = 3;

std::vector<MissingHere> missing_here(const Picture& picture, const Assessment& assessment) {
  std::vector<MissingHere> missing;
  for (const auto& each : assessment.missing) {
    const auto& sample = picture.samples[each.sample];
    MissingHere entry{sample.number, "", 0};
    if (entry.sample.empty() && !sample.bag.empty()) entry.sample = "in bag " + sample.bag;
    if (entry.sample.empty())
      entry.sample =
          "without number or bag" + (sample.rock.empty() ? "" : " (" + sample.rock + ")");
    std::size_t things = 0;
    for (const auto gap : each.gaps) {
      if (!picture::only_there(gap)) continue;
      entry.minutes += minutes_for(gap);
      if (++things > kThingsInACall) continue;
      if (things > 1) entry.what += ", ";
      entry.what += picture::words(gap);
    }
    if (things > kThingsInACall)
      entry.what += " and " + std::to_string(things - kThingsInACall) + " more";
    if (things > 0) missing.push_back(std::move(entry));
  }
  return missing;
}

/// Kinds as the plan values them, with what is in the bag; the last class is "other", a kind that
/// is not wanted by name.
std::vector<Wanted> kinds_valued(const Picture& picture, const std::vector<std::string>& kinds) {
  std::vector<Wanted> valued;
  for (const auto& rock : kinds) {
    const auto bagged =
        static_cast<int>(std::ranges::count_if(picture.samples, [&](const picture::Sample& sample) {
          return sample.taken && sample.rock == rock;
        }));
    const auto wanted = std::ranges::find(picture.plan->wanted, rock, &protocol::WantedKind::rock);
    if (wanted != picture.plan->wanted.end()) {
      valued.push_back({wanted->weight, wanted->number, wanted->repeat, bagged});
    } else {
      valued.push_back({picture.plan->new_kind_weight, 1, 0, std::min(bagged, 1)});
    }
  }
  valued.push_back({picture.plan->new_kind_weight, 1, 0, 0});
  return valued;
}

/// The shares the plan expects of a station, one a class; empty where it says nothing.
std::vector<double> planned_shares(const Picture& picture, const PlannedStation& planned) {
  if (planned.expected.empty()) return {};
  std::vector<double> shares(picture.kinds.size() + 1, 0);
  for (const auto& expected : planned.expected) {
    const auto kind = std::ranges::find(picture.kinds, expected.rock) - picture.kinds.begin();
    shares[static_cast<std::size_t>(kind)] += expected.percent / 100;
  }
  return shares;
}

/// Does what was counted so far look like what the plan expected? See plan_trust.hpp.
double plan_holds(const Picture& picture, const Learned& learned) {
  std::vector<ExpectedAndCounted> stations;
  for (const auto& planned : picture.plan->stations) {
    if (planned.expected.empty()) continue;
    ExpectedAndCounted station{planned_shares(picture, planned), planned.sureness,
                               weighted_counts(picture, learned, {planned.station})};
    keep_known_classes(station.expected, station.counted);
    stations.push_back(std::move(station));
  }
  return chance_plan_holds(stations, picture.plan->method.prior_each);
}

/// What the shares of a station may be, before and after asking the plan. Both hold what was
/// counted and said there. (The shares shown on the desk start from no expectation; the call must,
/// since it weighs stations nobody has seen yet.)
struct Beliefs {
  estimate::SharePosterior by_the_plan;
  estimate::SharePosterior without_it;
};

/// A kind of the vocabulary that was neither met at a station nor is expected there is one of the
/// "other" kinds as far as that station goes; together they weigh as the one class that "other" is
/// where shares are shown. With a prior of its own each would be expected everywhere.
void share_prior_of_other(const std::vector<bool>& known, double prior,
                          estimate::SharePosterior& posterior) {
  const auto unknown = std::ranges::count(known, false) + 1;
  if (unknown > std::ssize(known)) return;  // nothing is known: any kind is as good as another
  for (std::size_t i = 0; i < posterior.classes(); ++i)
    if (i == known.size() || !known[i])
      posterior.alpha[i] += prior / static_cast<double>(unknown) - prior;
}

/// Where the plan says nothing of a station, what was counted at the others stands in its place,
/// worth as many rocks as the plan's expectations are by default.
Beliefs beliefs_of(const Picture& picture, const Learned& learned, const std::string& station) {
  const double prior = picture.plan->method.prior_each;
  const auto evidence = evidence_at(picture, learned, {station}, picture.kinds);
  auto seen =
      estimate::share_posterior(evidence, design_effect_of(evidence, learned, {station}), prior);

  const auto kinds_here = kinds_met(picture, {station});
  std::vector<bool> met;
  for (const auto& kind : picture.kinds)
    met.push_back(std::ranges::find(kinds_here, kind) != kinds_here.end());

  PlannedStation planned;
  const auto in_plan = std::ranges::find(picture.plan->stations, station, &PlannedStation::station);
  if (in_plan != picture.plan->stations.end()) planned = *in_plan;
  auto shares = planned_shares(picture, planned);
  const bool says_something = !shares.empty();
  if (!says_something) {
    const auto everywhere = counts_of(evidence_at(picture, learned, {}, picture.kinds));
    const auto here = counts_of(evidence);
    for (std::size_t i = 0; i < here.size(); ++i)
      shares.push_back(static_cast<double>(everywhere[i] - here[i]));
    const double counted = std::accumulate(shares.begin(), shares.end(), 0.0);
    if (counted == 0) {
      share_prior_of_other(met, prior, seen);
      return {seen, seen};
    }
    for (double& share : shares) share /= counted;
    planned.sureness = PlannedStation{}.sureness;
  }
  constexpr double kNothing = 1e-9;
  const auto expected =
      estimate::expected_shares(shares, std::max(planned.sureness, kNothing), prior);
  auto expecting = seen;
  for (std::size_t i = 0; i < shares.size(); ++i) expecting.alpha[i] += expected.alpha[i] - prior;
  share_prior_of_other(met, prior, seen);
  for (std::size_t i = 0; i < met.size(); ++i)
    if (shares[i] > 0) met[i] = true;
  share_prior_of_other(met, prior, expecting);
  return {expecting, says_something ? seen : expecting};
}

/// Walking minutes with margin; infinity where the plan does not know a place.
double walk(const Plan& plan, const std::vector<protocol::Position>& way) {
  const auto legs = legs_through(way);
  const auto pace = walking_pace(plan);
  const auto time = legs.empty() ? protocol::Result<double>(tl::unexpect, protocol::Fault{})
                                 : walking_minutes(legs, pace);
  return time ? *time * (1 + pace.margin) : std::numeric_limits<double>::infinity();
}

Journey journey_from(const Plan& plan, const std::string& here,
                     const std::vector<std::string>& ahead, const Assessment& assessment,
                     double owed_minutes) {
  Journey journey;
  journey.minutes_left =
      std::max(plan.duration_minutes - in_minutes(assessment.clock.elapsed), 0.0);
  journey.base_from_here = walk(plan, way_back(plan, here));
  journey.owed_minutes = owed_minutes;
  journey.acts_in_minutes = plan.link.delay_seconds / 60 + plan.link.reaction_minutes;
  for (std::size_t i = 0; i < ahead.size(); ++i) {
    StationAhead station;
    station.from_here = walk(plan, way_to(plan, here, ahead[i]));
    for (std::size_t j = 0; j < i; ++j)
      station.from_earlier.push_back(walk(plan, way_to(plan, ahead[j], ahead[i])));
    station.to_base = walk(plan, way_back(plan, ahead[i]));
    journey.ahead.push_back(std::move(station));
  }
  return journey;
}

/// Where a station stands in the plan; a place that is not in it comes after the last.
std::size_t place_in_plan(const Plan& plan, const std::string& station) {
  return static_cast<std::size_t>(
      std::ranges::find(plan.stations, station, &PlannedStation::station) - plan.stations.begin());
}

/// `count` draws of a station's shares, the first `with_plan` of them by the plan. Each station's
/// are drawn by a seed of their own, so that word of one leaves the others' as they were.
std::vector<std::vector<double>> draw_station(const Picture& picture, const Learned& learned,
                                              const std::string& station, std::size_t with_plan,
                                              std::size_t count, Memory& memory) {
  const auto beliefs = beliefs_of(picture, learned, station);
  const auto seed = static_cast<std::uint64_t>(picture.plan->method.seed);
  std::vector<std::vector<double>> draws;
  const auto add = [&](const estimate::SharePosterior& belief, std::size_t number,
                       std::uint32_t which) {
    if (number == 0) return;
    const auto& shares =
        memory.draws_of(belief, number,
                        {static_cast<std::uint32_t>(seed), static_cast<std::uint32_t>(seed >> 32),
                         static_cast<std::uint32_t>(place_in_plan(*picture.plan, station)), which});
    for (std::size_t d = 0; d < number; ++d) draws.emplace_back(shares[d].begin(), shares[d].end());
  };
  add(beliefs.by_the_plan, with_plan, 0);
  add(beliefs.without_it, count - with_plan, 1);
  return draws;
}

/// Draws enough to weigh by, and no more than memory and patience allow where a plan lists hundreds
/// of stations and kinds.
std::size_t number_of_draws(const Plan& plan, std::size_t classes, std::size_t places) {
  constexpr std::size_t kMostShares = 4'000'000;
  constexpr std::size_t kFewest = 20;
  return std::clamp(kMostShares / (classes * places), kFewest,
                    std::max(kFewest, static_cast<std::size_t>(plan.method.draws)));
}

/// Of the draws, as many follow the plan's expectation as it is likely to hold: at all stations
/// together, since a plan that failed at one is doubted at the next.
std::vector<Draw> draw_all(const Picture& picture, const Learned& learned, double plan_holds,
                           const std::string& here, const std::vector<std::string>& ahead,
                           Instant now, std::mt19937_64& random, Memory& memory) {
  const auto count = number_of_draws(*picture.plan, picture.kinds.size() + 1, ahead.size() + 1);
  const auto with_plan = std::min(
      static_cast<std::size_t>(std::lround(plan_holds * static_cast<double>(count))), count);
  std::vector<Draw> draws(count);
  auto here_draws = draw_station(picture, learned, here, with_plan, count, memory);
  for (std::size_t d = 0; d < count; ++d) draws[d].here = std::move(here_draws[d]);
  for (const auto& station : ahead) {
    auto station_draws = draw_station(picture, learned, station, with_plan, count, memory);
    for (std::size_t d = 0; d < count; ++d) draws[d].ahead.push_back(std::move(station_draws[d]));
  }

  const PaceRecord record = pace_record(picture, now);
  const auto rate = looking_rate(record, picture.plan->pace);
  const auto handling = handling_time(record, picture.plan->pace);
  const auto gamma = [](const estimate::RatePosterior& posterior) {
    return std::gamma_distribution<double>(posterior.shape, 1 / posterior.rate_minutes);
  };
  for (Draw& draw : draws) {
    if (rate) draw.looks_per_minute = gamma(*rate)(random);
    // The rate of finishing samples can be drawn close to nothing; nobody handles one rock for two
    // hours.
    if (handling) draw.handling_minutes = std::min(1 / gamma(handling->per_minute)(random), 120.0);
  }
  // What is worked out from some of the draws must not see the plan's alone.
  std::ranges::shuffle(draws, random);
  return draws;
}

std::vector<double> chance_of_meeting(const std::vector<Draw>& draws, double minutes) {
  std::vector<double> chance(draws.empty() ? 0 : draws.front().here.size(), 0);
  for (const auto& draw : draws) {
    for (std::size_t i = 0; i < chance.size(); ++i) {
      chance[i] -= std::expm1(-draw.looks_per_minute * draw.here[i] * minutes) /
                   static_cast<double>(draws.size());
    }
  }
  return chance;
}

Advice::Kind shown(CallKind kind) {
  switch (kind) {
    case CallKind::stay_until:
      return Advice::Kind::stay_until;
    case CallKind::move_on:
      return Advice::Kind::move_on;
    case CallKind::get_first:
      return Advice::Kind::get_first;
    case CallKind::ask:
      return Advice::Kind::ask;
    case CallKind::turn_back:
      return Advice::Kind::turn_back;
    case CallKind::no_call:
      break;
  }
  return Advice::Kind::no_call;
}

/// What the plan set for the method, so that nobody has to look it up to argue with the call.
std::string settings_text(const protocol::Method& method) {
  const auto number = [](double value) {
    std::ostringstream text;
    text << value;
    return text.str();
  };
  return "Settings of the plan: a call from " + number(method.confident * 100) + " % on, " +
         number(method.draws) + " draws, seed " + std::to_string(method.seed) + ", prior of " +
         number(method.prior_each) + " rock a kind, typical from " +
         number(method.typical_percent) + " %, rare below " + number(method.rare_percent) + " %.";
}

Advice in_words(const AdvisedCall& call, const Situation& situation,
                const protocol::Method& method) {
  Advice advice;
  advice.kind = shown(call.kind);
  advice.sentence = call.sentence;
  advice.reason = call.reason;
  advice.sureness = call.sureness;
  advice.why = call.why;
  advice.why.insert(advice.why.end(), call.would_change.begin(), call.would_change.end());
  advice.why.emplace_back(settings_text(method));
  if (call.until) advice.depart = from_minutes(*call.until);
  advice.p_best = call.p_best.value_or(0);
  advice.plan_holds = situation.plan_holds;
  const auto& departure = situation.departure;
  if (!departure || departure->late) return advice;
  advice.depart_earliest = from_minutes(situation.now + departure->best_low);
  advice.depart_latest = from_minutes(situation.now + departure->best_high);
  const auto& stops = departure->stops.empty() ? departure->stops_if_leaving : departure->stops;
  if (!stops.empty()) advice.best_elsewhere = situation.stations_ahead[stops.front().station];
  for (const auto& point : departure->crossing) {
    advice.curve.push_back({situation.now + point.minute,
                            {point.here.mean, point.here.low, point.here.high},
                            point.elsewhere.mean});
  }
  return advice;
}

/// Where the party is to be advised: at a station that is not the base, and with a plan.
const picture::Visit* visit_to_advise(const Picture& picture, Instant now) {
  const auto* visit = picture::visit_at(picture, now);
  return picture.plan && visit && visit->station != picture.plan->base.station ? visit : nullptr;
}

double minutes_owed(const std::vector<MissingHere>& missing) {
  return std::accumulate(missing.begin(), missing.end(), 0.0,
                         [](double sum, const MissingHere& each) { return sum + each.minutes; });
}

/// What is known of the ground and the pace: as of the moment that is advised on, or of later.
struct Known {
  const Picture& picture;
  Instant until{};
  const Ground& here;  ///< the station that is advised on
  const std::optional<PaceNow>& pace;
  bool all = false;  ///< all that there is to know: nothing is left to ask for
};

/// The departure and the call for a moment, weighed with what is known. Station, time, bag and what
/// is owed are the moment's.
struct Weighed {
  std::optional<Departure> departure;  ///< none: the plan does not know the place
  Advice advice;
};

std::optional<Weighed> weigh(const Picture& then, const Assessment& assessment, const Known& known,
                             Memory& memory) {
  const auto* visit = visit_to_advise(then, assessment.now);
  if (!visit || !known.picture.plan) return std::nullopt;
  const Plan& plan = *then.plan;

  Situation situation;
  situation.now = in_minutes(assessment.clock.elapsed);
  situation.here = visit->station;
  situation.stations_ahead = stations_ahead(then, visit->station);
  situation.kinds = known.picture.kinds;
  situation.kinds.push_back("another kind");
  situation.confident = plan.method.confident;
  situation.counted_here = known.here.basis.counted > 0;
  situation.missing = missing_here(then, assessment);
  situation.no_typical_sample = known.here.no_typical_sample.value_or("");
  if (known.pace) situation.handling_minutes = known.pace->minutes_per_sample.mean;
  if (const auto& back = assessment.turn_back) {
    situation.turn_back =
        TurnBackTimes{back->walk_minutes, back->walk_minutes * back->margin_percent / 100,
                      in_minutes(back->latest_departure), in_minutes(back->latest_useful_call)};
  }

  std::mt19937_64 random(static_cast<std::uint64_t>(known.picture.plan->method.seed));
  const Learned learned = learn(known.picture, memory);
  situation.plan_holds = plan_holds(known.picture, learned);
  const auto draws = draw_all(known.picture, learned, situation.plan_holds, visit->station,
                              situation.stations_ahead, known.until, random, memory);
  situation.found_here = chance_of_meeting(draws, 10);
  situation.way_known = position_of(plan, visit->station).has_value();
  if (situation.way_known) {
    auto departure = best_departure(kinds_valued(then, known.picture.kinds), draws,
                                    journey_from(plan, visit->station, situation.stations_ahead,
                                                 assessment, minutes_owed(situation.missing)));
    assert(departure && "all that goes in is ours and in range");
    situation.departure = std::move(*departure);
  }
  if (!known.all && situation.departure && !situation.departure->late) {
    TallyAsked ten;
    const double heard_in = plan.link.delay_seconds / 60,
                 acts_in = heard_in + plan.link.reaction_minutes;
    ten.acted_on_in_minutes = acts_in + ten.minutes + heard_in + acts_in;
    situation.asking = worth_of_asking(*situation.departure, draws, ten, random);
  }
  Advice advice = in_words(advise_call(situation), situation, plan.method);
  return Weighed{std::move(situation.departure), std::move(advice)};
}

/// As known of the ground, with the bag of an earlier moment: is the ordinary rock in it yet?
void forget_later_samples(const Picture& then, Ground& ground) {
  for (auto& kind : ground.kinds)
    kind.bagged =
        static_cast<int>(std::ranges::count_if(then.samples, [&](const picture::Sample& sample) {
          return sample.taken && sample.rock == kind.rock && sample.station == ground.station;
        }));
  ground.no_typical_sample = no_typical_sample(ground);
}

}  // namespace

std::optional<Advice> work_out_advice(const Picture& picture, const Assessment& assessment,
                                      Memory& memory) {
  auto weighed = weigh(picture, assessment,
                       {picture, assessment.now, assessment.here, assessment.pace}, memory);
  return weighed ? std::optional(std::move(weighed->advice)) : std::nullopt;
}

InHindsight in_hindsight(const Picture& then, const Assessment& assessment, const Picture& known,
                         Memory& memory) {
  const Instant until = picture::last_word(known).value_or(assessment.now);
  InHindsight out;
  if (assessment.here.station.empty()) return out;
  out.here = assess_ground(known, assessment.here.station, until, memory);
  Ground ground = out.here;
  forget_later_samples(then, ground);
  auto weighed =
      weigh(then, assessment, {known, until, ground, pace_at(known, until), true}, memory);
  if (!weighed) return out;
  out.departure = std::move(weighed->departure);
  out.advice = std::move(weighed->advice);
  return out;
}

Assessment assess_with_advice(const Picture& picture, Instant now) {
  Memory nothing;
  return assess_with_advice(picture, now, nothing);
}

Assessment assess_with_advice(const Picture& picture, Instant now, Memory& memory) {
  Assessment assessment = assess(picture, now, memory);
  assessment.advice = work_out_advice(picture, assessment, memory);
  return assessment;
}

}  // namespace stonecall::advise
