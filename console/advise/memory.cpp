#include "console/advise/memory.hpp"

#include <random>

#include "console/advise/not_seen.hpp"

namespace stonecall::advise {

const Memory::Shares& Memory::shares_of(const estimate::SharePosterior& posterior,
                                        const estimate::CommonnessLimits& limits) {
  return shares_.of({{posterior.alpha, posterior.against}, limits.typical, limits.rare},
                    [&](const auto&) {
                      const estimate::ShareMarginals marginals(posterior);
                      Shares shares;
                      for (std::size_t i = 0; i < marginals.classes(); ++i) {
                        shares.estimates.push_back(marginals.estimate(i));
                        shares.labels.push_back(estimate::commonness(marginals, i, limits));
                      }
                      return shares;
                    });
}

const estimate::CallerRecord& Memory::learned(std::vector<estimate::SpokenAndCounted> pairs,
                                              double spread) {
  return callers_.of({std::move(pairs), spread},
                     [](const Pairs& key) { return std::apply(estimate::learn_caller, key); });
}

const std::vector<estimate::CallerRecord>& Memory::learned_without_each(
    std::vector<estimate::SpokenAndCounted> pairs, double spread) {
  return without_each_.of({std::move(pairs), spread}, [](const Pairs& key) {
    return std::apply(estimate::learn_without_each, key);
  });
}

const std::vector<estimate::Disagreement>& Memory::disagreements_in(
    const estimate::Evidence& evidence, double design_effect) {
  std::vector<std::int64_t> met(evidence.classes, 0);
  for (const auto& look : evidence.looks)
    for (std::size_t i = 0; i < met.size(); ++i) met[i] += look[i];
  return disagreements_.of({std::move(met), evidence.shares, design_effect}, [&](const auto&) {
    return estimate::disagreements(evidence, design_effect);
  });
}

const std::optional<NotSeenYet>& Memory::not_seen_yet(std::vector<std::int64_t> counts) {
  return unseen_.of(std::move(counts),
                    [](const auto& counted) { return advise::not_seen_yet(counted); });
}

const estimate::ShareDraws& Memory::draws_of(const estimate::SharePosterior& posterior,
                                             std::size_t draws, std::vector<std::uint32_t> seed) {
  return draws_.of({{posterior.alpha, posterior.against}, draws, std::move(seed)},
                   [&](const auto& key) {
                     const auto& words = std::get<2>(key);
                     std::seed_seq sequence(words.begin(), words.end());
                     estimate::Generator generator(sequence);
                     return estimate::draw_shares(posterior, draws, generator);
                   });
}

}  // namespace stonecall::advise
