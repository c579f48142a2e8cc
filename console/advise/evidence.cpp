#include "console/advise/evidence.hpp"

#include <algorithm>
#include <set>

#include "console/advise/memory.hpp"
#include "console/estimate/patchiness.hpp"

namespace stonecall::advise {
namespace {

using picture::Picture;

std::size_t index_of(const std::vector<std::string>& kinds, const std::string& rock) {
  return static_cast<std::size_t>(std::ranges::find(kinds, rock) - kinds.begin());
}

/// Callers by number, so that what one caller says twice can be told from two callers agreeing.
class CallerNumbers {
 public:
  std::size_t of(const std::string& name) {
    return numbers_.try_emplace(name, numbers_.size()).first->second;
  }

 private:
  std::map<std::string, std::size_t> numbers_;
};

double spread_setting(const Picture& picture, const std::string& caller) {
  double percent = protocol::Person{}.spread_percent;
  if (picture.plan) {
    const auto person = std::ranges::find(picture.plan->people, caller, &protocol::Person::name);
    if (person != picture.plan->people.end()) percent = person->spread_percent;
  }
  constexpr double kSmallest =
      0.5;  // nobody guesses better than this, and the method divides by it
  return std::max(percent, kSmallest) / 100;
}

estimate::Looks looks_at(const Picture& picture, const Where& where,
                         const std::vector<std::string>& kinds) {
  estimate::Looks looks;
  for (const auto& look : picture.looks) {
    if (!where.includes(look.station) || look.total <= 0) continue;
    std::vector<std::int64_t> counts(kinds.size() + 1, 0);
    std::int64_t named = 0;
    for (const auto& count : look.counts) {
      counts[index_of(kinds, count.rock)] += count.count;
      named += count.count;
    }
    counts.back() += look.total - named;
    looks.push_back(std::move(counts));
  }
  return looks;
}

std::set<std::string> stations_looked_at(const Picture& picture) {
  std::set<std::string> stations;
  for (const auto& look : picture.looks) {
    if (!look.station.empty()) stations.insert(look.station);
  }
  return stations;
}

double patchiness_of(const Picture& picture) {
  std::vector<estimate::Looks> stations;
  for (const auto& station : stations_looked_at(picture)) {
    stations.push_back(looks_at(picture, {station}, picture.kinds));
  }
  return estimate::patchiness(stations).value_or(0);
}

}  // namespace

std::vector<ShareWithCounts> shares_with_counts(const Picture& picture, double patchiness) {
  struct Counted {
    std::int64_t rocks = 0;
    std::map<std::string, std::int64_t> of_kind;
    double design_effect = 1;
  };
  std::map<std::string, Counted> stations;
  for (const auto& look : picture.looks) {
    Counted& counted = stations[look.station];
    counted.rocks += look.total;
    for (const auto& count : look.counts) counted.of_kind[count.rock] += count.count;
  }
  for (auto& [station, counted] : stations)
    counted.design_effect =
        estimate::design_effect(looks_at(picture, {station}, picture.kinds), patchiness);

  std::vector<ShareWithCounts> found;
  for (std::size_t i = 0; i < picture.shares.size(); ++i) {
    const auto& share = picture.shares[i];
    const auto counted = stations.find(share.station);
    if (share.station.empty() || counted == stations.end() || counted->second.rocks < 1) continue;
    const auto met = counted->second.of_kind.find(share.rock);
    found.push_back({i,
                     {share.best, share.high - share.low,
                      met == counted->second.of_kind.end() ? 0 : met->second, counted->second.rocks,
                      counted->second.design_effect}});
  }
  return found;
}

Learned learn(const Picture& picture) {
  Memory nothing;
  return learn(picture, nothing);
}

Learned learn(const Picture& picture, Memory& memory) {
  Learned learned;
  learned.patchiness = patchiness_of(picture);

  std::map<std::string, std::vector<estimate::SpokenAndCounted>> pairs;
  for (const auto& share : picture.shares) pairs[share.caller];
  for (const auto& each : shares_with_counts(picture, learned.patchiness))
    pairs[picture.shares[each.share].caller].push_back(each.pair);
  for (auto& [caller, with_counts] : pairs)
    learned.callers[caller] =
        memory.learned(std::move(with_counts), spread_setting(picture, caller));
  return learned;
}

std::vector<estimate::CallerRecord> records_without_own(const Picture& picture,
                                                        const Learned& learned, const Where& where,
                                                        Memory& memory) {
  std::set<std::string> callers_here;
  for (const auto& share : picture.shares)
    if (where.includes(share.station)) callers_here.insert(share.caller);

  struct OfCaller {
    std::vector<std::size_t> shares;
    std::vector<estimate::SpokenAndCounted> pairs;
  };
  std::map<std::string, OfCaller> of_caller;
  for (const auto& each : shares_with_counts(picture, learned.patchiness)) {
    const auto& caller = picture.shares[each.share].caller;
    if (!callers_here.contains(caller)) continue;
    of_caller[caller].shares.push_back(each.share);
    of_caller[caller].pairs.push_back(each.pair);
  }
  // A share of a place without counts taught nothing of its caller, and is judged by all the rest.
  std::map<std::size_t, estimate::CallerRecord> without;
  for (auto& [caller, of] : of_caller) {
    const auto records =
        memory.learned_without_each(std::move(of.pairs), spread_setting(picture, caller));
    for (std::size_t i = 0; i < records.size(); ++i) without.emplace(of.shares[i], records[i]);
  }

  std::vector<estimate::CallerRecord> records;
  for (std::size_t i = 0; i < picture.shares.size(); ++i) {
    if (!where.includes(picture.shares[i].station)) continue;
    const auto own = without.find(i);
    records.push_back(own != without.end() ? own->second
                                           : learned.callers.at(picture.shares[i].caller));
  }
  return records;
}

estimate::Evidence evidence_at(const Picture& picture, const Learned& learned, const Where& where,
                               const std::vector<std::string>& kinds) {
  estimate::Evidence evidence;
  evidence.classes = kinds.size() + 1;
  evidence.looks = looks_at(picture, where, kinds);

  for (const auto& sample : picture.samples) {
    if (!sample.taken || !where.includes(sample.station)) continue;
    if (!sample.unselective) {
      ++evidence.chosen_not_used;
    } else if (!sample.rock.empty()) {
      std::vector<std::int64_t> one(evidence.classes, 0);
      one[index_of(kinds, sample.rock)] = 1;
      evidence.looks.push_back(std::move(one));
    }
  }

  CallerNumbers numbers;
  for (const auto& share : picture.shares) {
    const std::size_t kind = index_of(kinds, share.rock);
    // "None of it" said of a kind not met is a named absence; it is shown and weighs nothing.
    if (share.station != where.station || share.station.empty() || kind == kinds.size()) continue;
    estimate::SpokenShare spoken{kind,
                                 share.low,
                                 share.high,
                                 share.best,
                                 numbers.of(share.caller),
                                 0,
                                 spread_setting(picture, share.caller)};
    if (const auto record = learned.callers.find(share.caller); record != learned.callers.end()) {
      spoken.bias = record->second.bias;
      spoken.spread = record->second.spread_with_bias_error();
    }
    evidence.shares.push_back(spoken);
  }
  return evidence;
}

double patchiness_of(const estimate::Evidence& evidence, const Learned& learned,
                     const Where& where) {
  return where.station.empty() ? estimate::patchiness(std::span(&evidence.looks, 1)).value_or(0)
                               : learned.patchiness;
}

double design_effect_of(const estimate::Evidence& evidence, const Learned& learned,
                        const Where& where) {
  return estimate::design_effect(evidence.looks, patchiness_of(evidence, learned, where));
}

std::vector<std::string> kinds_met(const Picture& picture, const Where& where) {
  const std::optional<std::string> station =
      where.station.empty() ? std::nullopt : std::optional(where.station);
  std::vector<std::string> met;
  for (const auto& kind : picture.kinds) {
    if (picture::first_seen(picture, kind, station)) met.push_back(kind);
  }
  return met;
}

std::vector<std::int64_t> counts_of(const estimate::Evidence& evidence) {
  std::vector<std::int64_t> sums(evidence.classes, 0);
  for (const auto& look : evidence.looks) {
    for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += look[i];
  }
  return sums;
}

void keep_known_classes(std::vector<double>& a, std::vector<double>& b) {
  std::size_t kept = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (a[i] == 0 && b[i] == 0 && i + 1 < a.size()) continue;
    a[kept] = a[i];
    b[kept] = b[i];
    ++kept;
  }
  a.resize(kept);
  b.resize(kept);
}

std::vector<double> weighted_counts(const Picture& picture, const Learned& learned,
                                    const Where& where) {
  const auto evidence = evidence_at(picture, learned, where, picture.kinds);
  const double effect = design_effect_of(evidence, learned, where);
  std::vector<double> weighted;
  for (const auto count : counts_of(evidence))
    weighted.push_back(static_cast<double>(count) / effect);
  return weighted;
}

}  // namespace stonecall::advise
