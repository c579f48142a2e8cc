#include "console/advise/not_seen.hpp"

#include <algorithm>
#include <cmath>

#include "console/estimate/rarefaction.hpp"
#include "console/estimate/richness.hpp"
#include "console/estimate/sample_size.hpp"
#include "console/estimate/unseen.hpp"

namespace stonecall::advise {
namespace {

/// Kinds expected after `further` more rocks when `unseen` kinds are left: Chao et al. 2014, as
/// estimate::expected_new_kinds, with the number of unseen kinds given.
double kinds_after(const estimate::MetOnceAndTwice& met, double unseen, double further) {
  const double observed = static_cast<double>(met.observed);
  if (unseen <= 0 || met.once <= 0) return observed;
  return observed +
         unseen * (1 - std::pow(1 - met.once / (met.counted * unseen + met.once), further));
}

/// The growth of kinds with rocks looked at: rarefied up to now with 1.645 standard errors, beyond
/// now with the band that the interval of the number of unseen kinds gives. Twenty points at most
/// on either side; beyond half as many rocks again the expectation is not worth drawing.
std::vector<NotSeenYet::Point> growth_of(estimate::Counts counts,
                                         const estimate::MetOnceAndTwice& met,
                                         const Figure& chao1) {
  constexpr double kNinetyPercent = 1.6448536269514722;
  constexpr int kPoints = 20;
  std::vector<NotSeenYet::Point> growth;
  const auto counted = static_cast<std::int64_t>(met.counted);
  const auto points = std::min<std::int64_t>(counted, kPoints);
  for (std::int64_t i = 1; i <= points; ++i) {
    const std::int64_t rocks = counted * i / points;
    const auto kinds = estimate::rarefied_kinds(counts, rocks);
    if (!kinds) continue;
    const double spread = kNinetyPercent * kinds->standard_error;
    growth.push_back({static_cast<double>(rocks), kinds->value,
                      std::max(kinds->value - spread, 0.0),
                      std::min(kinds->value + spread, static_cast<double>(met.observed))});
  }
  const double observed = static_cast<double>(met.observed);
  const double further = std::max(met.counted / 2, 10.0);
  for (int i = 1; i <= kPoints; ++i) {
    const double more = further * i / kPoints;
    const double kinds = kinds_after(met, estimate::unseen_kinds(counts).value_or(0), more);
    // The mean comes from the classic form, the interval from the bias-corrected one; keep them in
    // order.
    growth.push_back({met.counted + more, kinds,
                      std::min(kinds, kinds_after(met, chao1.low - observed, more)),
                      std::max(kinds, kinds_after(met, chao1.high - observed, more))});
  }
  return growth;
}

}  // namespace

std::optional<NotSeenYet> not_seen_yet(estimate::Counts counts) {
  const auto met = estimate::met_once_and_twice(counts);
  if (!met) return std::nullopt;
  NotSeenYet unseen;
  unseen.counted = static_cast<std::int64_t>(met->counted);
  unseen.kinds_met = static_cast<int>(met->observed);
  const auto next = estimate::next_is_new(counts);
  if (!next) return std::nullopt;
  unseen.next_is_new = {next->probability, next->interval.lower, next->interval.upper};
  // Two names of one thing: what is covered and what is not add up to all. (coverage_chao_jost
  // calls one kind met once full coverage.)
  const double coverage = 1 - next->probability;
  unseen.coverage = {coverage, 1 - next->interval.upper, 1 - next->interval.lower};
  if (const auto richness = estimate::chao1_bias_corrected(counts)) {
    if (const auto interval =
            estimate::chao1_interval(counts, *richness, estimate::shown_confidence))
      unseen.chao1 = {richness->value, interval->lower, interval->upper};
  }
  constexpr double kWorthMeeting = 0.05;
  constexpr double kSure = 0.95;
  unseen.needed_for_five_percent =
      static_cast<int>(estimate::rocks_to_meet(kWorthMeeting, kSure).value_or(0));
  unseen.growth = growth_of(counts, *met, unseen.chao1);
  return unseen;
}

}  // namespace stonecall::advise
