#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <map>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "console/advise/assessment.hpp"
#include "console/estimate/abundance.hpp"
#include "console/estimate/caller.hpp"
#include "console/estimate/commonness.hpp"
#include "console/estimate/disagreement.hpp"

namespace stonecall::advise {

/// What a pure function answered, by everything that went into it. Holds the `most` answers used
/// last; asked again with the same input it gives the same answer without working it out.
template <class Key, class Value, std::size_t most>
class Answers {
 public:
  /// `work_out(key)` may depend on nothing but the key. The reference holds until the next call.
  template <class WorkOut>
  const Value& of(Key key, WorkOut&& work_out) {
    auto place = held_.find(key);
    if (place == held_.end()) {
      Value value = work_out(key);
      if (held_.size() >= most)
        held_.erase(std::ranges::min_element(
            held_, {}, [](const auto& each) { return each.second.last_used; }));
      place = held_.emplace(std::move(key), Held{std::move(value), 0}).first;
    }
    place->second.last_used = ++uses_;
    return place->second.value;
  }

 private:
  struct Held {
    Value value;
    std::uint64_t last_used;
  };
  std::map<Key, Held> held_;
  std::uint64_t uses_ = 0;
};

/// The costly parts of earlier assessments, kept by the evidence that they were worked out from:
/// most events (a note, a photograph, a chosen sample) change none of it. Assessing with a memory,
/// whatever is in it, gives the same numbers to the last bit as assessing without. Belongs to one
/// thread at a time. What it answers holds until the same question is asked of it again.
class Memory {
 public:
  struct Shares {
    std::vector<estimate::ShareEstimate> estimates;
    std::vector<estimate::CommonnessLabel> labels;
  };

  const Shares& shares_of(const estimate::SharePosterior& posterior,
                          const estimate::CommonnessLimits& limits);
  const estimate::CallerRecord& learned(std::vector<estimate::SpokenAndCounted> pairs,
                                        double spread);
  const std::vector<estimate::CallerRecord>& learned_without_each(
      std::vector<estimate::SpokenAndCounted> pairs, double spread);
  const std::vector<estimate::Disagreement>& disagreements_in(const estimate::Evidence& evidence,
                                                              double design_effect);
  /// All but what depends on the pace. None: nothing counted.
  const std::optional<NotSeenYet>& not_seen_yet(std::vector<std::int64_t> counts);
  /// See estimate::draw_shares; `seed` names the draws, so that two places of like evidence are not
  /// drawn alike.
  const estimate::ShareDraws& draws_of(const estimate::SharePosterior& posterior, std::size_t draws,
                                       std::vector<std::uint32_t> seed);

 private:
  static constexpr std::size_t places = 64;  ///< more than the stations of an exercise
  static constexpr std::size_t callers = 64;

  using Pairs = std::tuple<std::vector<estimate::SpokenAndCounted>, double>;
  using Weights = std::tuple<std::vector<double>, std::vector<double>>;
  Answers<std::tuple<Weights, double, double>, Shares, places> shares_;
  Answers<Pairs, estimate::CallerRecord, callers> callers_;
  Answers<Pairs, std::vector<estimate::CallerRecord>, callers> without_each_;
  Answers<std::tuple<std::vector<std::int64_t>, std::vector<estimate::SpokenShare>, double>,
          std::vector<estimate::Disagreement>, places>
      disagreements_;
  Answers<std::vector<std::int64_t>, std::optional<NotSeenYet>, places> unseen_;
  Answers<std::tuple<Weights, std::size_t, std::vector<std::uint32_t>>, estimate::ShareDraws,
          2 * places>
      draws_;
};

}  // namespace stonecall::advise
