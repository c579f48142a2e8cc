#include "console/debrief/chances.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace stonecall::debrief {
namespace {

// What a remark on a stated chance begins with.
constexpr std::string_view came_true_words = "came true";
constexpr std::string_view did_not_words = "did not come true";

}  // namespace

std::optional<bool> outcome_of(const picture::Picture& picture, const protocol::Uuid& chance) {
  std::optional<bool> came_true;
  for (const auto& each : picture.remarks) {
    if (each.remark.about != chance) continue;
    if (each.remark.text.starts_with(came_true_words)) came_true = true;
    if (each.remark.text.starts_with(did_not_words)) came_true = false;
  }
  return came_true;
}

protocol::Remark outcome_said(const protocol::Uuid& chance, bool came_true) {
  protocol::Remark said;
  said.text = came_true ? came_true_words : did_not_words;
  said.about = chance;
  return said;
}

std::string chance_text(double chance) {
  const double percent = std::round(chance * 100);
  if (chance < 1 && percent >= 100) return "over 99 %";
  if (chance > 0 && percent <= 0) return "under 1 %";
  return fmt::format("{:.0f} %", percent);
}

std::vector<std::string> outcomes_to_state(const picture::Picture& picture, picture::Instant now) {
  const auto* visit = picture::visit_at(picture, now);
  if (!visit || !picture.plan || visit->station == picture.plan->base.station) return {};
  const std::string& here = visit->station;
  std::vector<std::string> outcomes{"another kind turns up here within ten minutes"};
  auto wanted = picture.plan->wanted;
  std::ranges::stable_sort(wanted, std::greater{}, &protocol::WantedKind::weight);
  constexpr std::size_t most = 5;
  for (const auto& kind : wanted) {
    const auto bagged = std::ranges::count_if(picture.samples, [&](const picture::Sample& sample) {
      return sample.taken && sample.rock == kind.rock;
    });
    if (bagged >= kind.number) continue;
    outcomes.push_back("the party bags " + kind.rock + " before it leaves " + here);
    if (outcomes.size() > most) break;
  }
  outcomes.push_back("the party leaves " + here + " within its allotment");
  return outcomes;
}

}  // namespace stonecall::debrief
