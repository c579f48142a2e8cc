#include "console/advise/evidence.hpp"

#include <algorithm>
#include <map>

namespace stonecall::advise {
namespace {

std::size_t index_of(const std::vector<std::string>& kinds, const std::string& rock) {
  return static_cast<std::size_t>(std::ranges::find(kinds, rock) - kinds.begin());
}

/// Callers by number, so that what one caller says twice can be told from two callers agreeing.
class Callers {
 public:
  explicit Callers(const picture::Picture& picture) : picture_(picture) {}

  std::size_t number(const std::string& name) {
    return numbers_.try_emplace(name, numbers_.size()).first->second;
  }

  double spread(const std::string& name) const {
    if (!picture_.plan) return protocol::Person{}.spread_percent / 100;
    const auto person = std::ranges::find(picture_.plan->people, name, &protocol::Person::name);
    const double percent = person == picture_.plan->people.end() ? protocol::Person{}.spread_percent
                                                                 : person->spread_percent;
    constexpr double kSmallest =
        0.5;  // nobody guesses better than this, and the method divides by it
    return std::max(percent, kSmallest) / 100;
  }

 private:
  const picture::Picture& picture_;
  std::map<std::string, std::size_t> numbers_;
};

}  // namespace

estimate::Evidence evidence_at(const picture::Picture& picture, const Where& where,
                               const std::vector<std::string>& kinds) {
  estimate::Evidence evidence;
  evidence.classes = kinds.size() + 1;

  for (const auto& look : picture.looks) {
    if (!where.includes(look.station) || look.total <= 0) continue;
    std::vector<std::int64_t> counts(evidence.classes, 0);
    std::int64_t named = 0;
    for (const auto& count : look.counts) {
      counts[index_of(kinds, count.rock)] += count.count;
      named += count.count;
    }
    counts.back() += look.total - named;
    evidence.looks.push_back(std::move(counts));
  }

  std::map<std::string, std::vector<std::int64_t>> unselective;
  for (const auto& sample : picture.samples) {
    if (!sample.taken || !where.includes(sample.station)) continue;
    if (!sample.unselective) {
      ++evidence.chosen_not_used;
    } else if (!sample.rock.empty()) {
      auto& counts = unselective.try_emplace(sample.station, evidence.classes, 0).first->second;
      ++counts[index_of(kinds, sample.rock)];
    }
  }
  for (auto& [station, counts] : unselective) evidence.looks.push_back(std::move(counts));

  Callers callers(picture);
  for (const auto& share : picture.shares) {
    // What is said of one station holds there and not for the whole exercise. "None of it" said of
    // a kind not met is a named absence.
    const std::size_t kind = index_of(kinds, share.rock);
    if (share.station != where.station || share.station.empty() || kind == kinds.size()) continue;
    evidence.shares.push_back({kind, share.low, share.high, share.best,
                               callers.number(share.caller), 0.0, callers.spread(share.caller)});
  }
  return evidence;
}

std::vector<std::string> kinds_met(const picture::Picture& picture, const Where& where) {
  const std::optional<std::string> station =
      where.station.empty() ? std::nullopt : std::optional(where.station);
  std::vector<std::string> met;
  for (const auto& kind : picture.kinds) {
    if (picture::first_seen(picture, kind, station)) met.push_back(kind);
  }
  return met;
}

std::vector<std::int64_t> counts_at(const picture::Picture& picture, const Where& where,
                                    const std::vector<std::string>& kinds) {
  std::vector<std::int64_t> sums(kinds.size() + 1, 0);
  for (const auto& look : evidence_at(picture, where, kinds).looks) {
    for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += look[i];
  }
  sums.pop_back();
  return sums;
}

}  // namespace stonecall::advise
