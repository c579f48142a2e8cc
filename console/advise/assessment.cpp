#include "console/advise/assessment.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "console/advise/evidence.hpp"
#include "console/advise/memory.hpp"
#include "console/advise/pace_record.hpp"
#include "console/advise/turn_back_now.hpp"
#include "console/estimate/abundance.hpp"
#include "console/estimate/commonness.hpp"
#include "console/estimate/disagreement.hpp"
#include "console/estimate/ground.hpp"
#include "console/estimate/unseen.hpp"

namespace stonecall::advise {
namespace {

using picture::Picture;
using protocol::Plan;

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

std::string_view words(estimate::Commonness label) {
  switch (label) {
    case estimate::Commonness::typical:
      return "typical";
    case estimate::Commonness::uncommon:
      return "uncommon";
    case estimate::Commonness::rare:
      return "rare";
  }
  return "";
}

std::string_view words(estimate::Reach reach) {
  switch (reach) {
    case estimate::Reach::local_here:
      return "local here";
    case estimate::Reach::in_places:
      return "in places";
    case estimate::Reach::everywhere:
      return "everywhere";
    case estimate::Reach::not_known:
      break;
  }
  return "";
}

/// One place's evidence with its posterior, over the kinds met there and "other".
struct Weighed {
  std::vector<std::string> met;
  estimate::Evidence evidence;
  double design_effect = 1;
  estimate::SharePosterior posterior;
};

Weighed weigh(const Picture& picture, const Learned& learned, const Where& where) {
  Weighed weighed;
  weighed.met = kinds_met(picture, where);
  weighed.evidence = evidence_at(picture, learned, where, weighed.met);
  weighed.design_effect = design_effect_of(weighed.evidence, learned, where);
  const double prior =
      picture.plan ? picture.plan->method.prior_each : protocol::Method{}.prior_each;
  weighed.posterior = estimate::share_posterior(weighed.evidence, weighed.design_effect, prior);
  return weighed;
}

estimate::CommonnessLimits limits_of(const Picture& picture) {
  const protocol::Method method = picture.plan ? picture.plan->method : protocol::Method{};
  return {method.typical_percent / 100, method.rare_percent / 100};
}

/// Where else each kind of the picture is found, by the stations where rocks were counted or spoken
/// of. A kind not met at one of them is taken to be missing there.
std::vector<estimate::Reach> reach_of_kinds(const Picture& picture, const Learned& learned,
                                            const std::string& here, Memory& memory) {
  std::set<std::string> others;
  for (const auto& look : picture.looks) others.insert(look.station);
  for (const auto& sample : picture.samples)
    if (sample.unselective) others.insert(sample.station);
  for (const auto& share : picture.shares) others.insert(share.station);
  others.erase(here);
  others.erase("");

  std::vector<std::vector<double>> not_rare(picture.kinds.size());
  for (const auto& station : others) {
    const Weighed weighed = weigh(picture, learned, {station});
    const auto& basis = weighed.posterior.basis;
    if (basis.counted == 0 && basis.shares == 0) continue;
    const auto& labels = memory.shares_of(weighed.posterior, limits_of(picture)).labels;
    for (std::size_t i = 0; i < not_rare.size(); ++i) {
      const auto met = std::ranges::find(weighed.met, picture.kinds[i]) - weighed.met.begin();
      not_rare[i].push_back(met == std::ssize(weighed.met)
                                ? 0
                                : 1 - labels[static_cast<std::size_t>(met)].probability_rare);
    }
  }
  std::vector<estimate::Reach> reach;
  for (const auto& elsewhere : not_rare) reach.push_back(estimate::reach(elsewhere));
  return reach;
}

Basis basis_of(const Picture& picture, const Where& where, const Weighed& weighed) {
  Basis basis;
  const auto& from = weighed.posterior.basis;
  basis.counted = from.counted;
  for (const auto& look : picture.looks) {
    if (where.includes(look.station) && look.total > 0) ++basis.looks;
  }
  basis.unselective = static_cast<int>(from.looks) - basis.looks;
  basis.spoken_shares = static_cast<int>(from.shares);
  basis.chosen_not_used = static_cast<int>(from.chosen_not_used);
  basis.design_effect = weighed.design_effect;
  return basis;
}

/// Each spoken share is judged by what its caller's other shares say of bias and spread: one that
/// is far off would else teach that this caller is often far off, and vouch for itself.
std::vector<Disagreement> disagreements_in(const Picture& picture, const Learned& learned,
                                           const Where& where, const Weighed& weighed,
                                           Memory& memory) {
  if (where.station.empty() || weighed.evidence.shares.empty()) return {};
  auto evidence = weighed.evidence;
  const auto records = records_without_own(picture, learned, where, memory);
  auto record = records.begin();
  std::vector<const picture::SpokenShare*> said;
  for (const auto& share : picture.shares) {
    if (share.station != where.station) continue;
    const auto& without_own = *record++;
    if (std::ranges::find(weighed.met, share.rock) == weighed.met.end()) continue;
    auto& spoken = evidence.shares[said.size()];
    spoken.bias = without_own.bias;
    spoken.spread = without_own.spread_with_bias_error();
    said.push_back(&share);
  }
  std::vector<Disagreement> found;
  for (const auto& each : memory.disagreements_in(evidence, weighed.design_effect)) {
    const auto& share = *said[each.share];
    found.push_back({share.rock, share.caller, share.origin.at, share.low, share.high,
                     each.expected.range.lower, each.expected.range.upper});
  }
  return found;
}

std::optional<Figure> new_kinds(const std::vector<std::int64_t>& counts,
                                const estimate::RatePosterior& looking, double minutes) {
  const auto expected = estimate::expected_new_kinds(counts, looking.mean() * minutes);
  const auto range = estimate::new_kinds_range(counts, looking, minutes);
  if (!expected || !range) return std::nullopt;
  return Figure{*expected, std::min(range->lower, *expected), std::max(range->upper, *expected)};
}

Ground ground_at(const Picture& picture, const Learned& learned, const Where& where,
                 const std::optional<PaceNow>& pace, Memory& memory) {
  Ground ground;
  ground.station = where.station;
  const Weighed weighed = weigh(picture, learned, where);
  ground.basis = basis_of(picture, where, weighed);
  const Memory::Shares* shares =
      ground.basis.any() ? &memory.shares_of(weighed.posterior, limits_of(picture)) : nullptr;
  const auto figure = [&](std::size_t i) {
    const auto& share = shares->estimates[i];
    return Figure{share.mean, share.interval.lower, share.interval.upper};
  };

  auto counts = counts_of(evidence_at(picture, learned, where, picture.kinds));
  counts.pop_back();  // rocks that nobody told apart are no kind
  const auto standard = standard_of(picture);
  const std::optional<std::string> station =
      where.station.empty() ? std::nullopt : std::optional(where.station);
  for (std::size_t i = 0; i < picture.kinds.size(); ++i) {
    KindRow row;
    row.rock = picture.kinds[i];
    row.counted = counts[i];
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
    const auto known = std::ranges::find(weighed.met, row.rock);
    if (shares && known != weighed.met.end()) {
      const auto index = static_cast<std::size_t>(known - weighed.met.begin());
      row.share = figure(index);
      const auto& label = shares->labels[index];
      row.label = words(label.label);
      row.label_probability = label.probability;
    }
    ground.kinds.push_back(std::move(row));
  }
  if (shares) ground.other = figure(weighed.met.size());
  if (station) {
    const auto reach = reach_of_kinds(picture, learned, *station, memory);
    for (std::size_t i = 0; i < reach.size(); ++i)
      if (ground.kinds[i].share) ground.kinds[i].reach = words(reach[i]);
    ground.no_typical_sample = no_typical_sample(ground);
  }
  ground.unseen = memory.not_seen_yet(counts);
  if (ground.unseen && pace)
    ground.unseen->new_in_ten_minutes = new_kinds(counts, pace->looking, 10);
  ground.disagreements = disagreements_in(picture, learned, where, weighed, memory);
  return ground;
}

/// The last station walked before this one that is another place.
const picture::Visit* stop_before(const Picture& picture, const picture::Visit& visit) {
  const picture::Visit* before = nullptr;
  for (const auto& each : picture.visits) {
    if (&each == &visit) break;
    const bool base = picture.plan && each.station == picture.plan->base.station;
    if (each.station != visit.station && !base) before = &each;
  }
  return before;
}

/// P(same ground) of two stations from their counts; none where one of them has none. Kinds of the
/// vocabulary that neither has are no evidence: with them the shares would be taken for as many
/// more, and any two stations that lack them for alike.
std::optional<double> same_ground(const Picture& picture, const Learned& learned,
                                  const std::string& here, const std::string& there) {
  auto a = weighted_counts(picture, learned, {here});
  auto b = weighted_counts(picture, learned, {there});
  keep_known_classes(a, b);
  const auto counted = [](const std::vector<double>& counts) {
    return std::ranges::any_of(counts, [](double each) { return each > 0; });
  };
  if (!counted(a) || !counted(b)) return std::nullopt;
  const double prior =
      picture.plan ? picture.plan->method.prior_each : protocol::Method{}.prior_each;
  return estimate::same_ground(a, b, prior).probability;
}

}  // namespace

std::optional<std::string> no_typical_sample(const Ground& ground) {
  const KindRow* commonest = nullptr;
  for (const auto& row : ground.kinds) {
    if (row.label != words(estimate::Commonness::typical)) continue;
    if (row.bagged > 0) return std::nullopt;
    if (!commonest || row.share->mean > commonest->share->mean) commonest = &row;
  }
  return commonest ? std::optional(commonest->rock) : std::nullopt;
}

Ground assess_ground(const Picture& picture, const std::string& station, Instant now,
                     Memory& memory) {
  return ground_at(picture, learn(picture, memory), {station}, pace_at(picture, now), memory);
}

Ground assess_ground(const Picture& picture, const std::string& station, Instant now) {
  Memory nothing;
  return assess_ground(picture, station, now, nothing);
}

Assessment assess(const Picture& picture, Instant now) {
  Memory nothing;
  return assess(picture, now, nothing);
}

Assessment assess(const Picture& picture, Instant now, Memory& memory) {
  Assessment assessment;
  assessment.now = now;
  assessment.events = picture.events;
  assessment.clock = clock_at(picture, now);
  assessment.pace = pace_at(picture, now);
  assessment.turn_back = turn_back_at(picture, now);

  const Learned learned = learn(picture, memory);
  const auto* last = picture::last_visit(picture, now);
  assessment.whole = ground_at(picture, learned, {}, assessment.pace, memory);
  // Before the first arrival there is no "here"; an unnamed station would stand for the whole
  // exercise.
  if (last) {
    assessment.here = ground_at(picture, learned, {last->station}, assessment.pace, memory);
    if (const auto* before = stop_before(picture, *last)) {
      assessment.compared_with = before->station;
      assessment.same_ground = same_ground(picture, learned, last->station, before->station);
    }
  }

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
