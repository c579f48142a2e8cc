#include "console/desk/plan_changes.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace stonecall::desk {
namespace {

using protocol::Plan;
using protocol::PlannedStation;
using protocol::WantedKind;

template <class List, class Key>
auto* named(List& list, const std::string& name, Key key) {
  auto found = std::ranges::find(list, name, key);
  return found == list.end() ? nullptr : &*found;
}

void station_changes(const Plan& before, const Plan& after, std::vector<std::string>& out) {
  for (const PlannedStation& now : after.stations) {
    const auto* was = named(before.stations, now.station, &PlannedStation::station);
    if (!was) {
      out.push_back(fmt::format("{} added, {:g} min", now.station, now.allotted_minutes));
      continue;
    }
    PlannedStation rest = now;
    rest.allotted_minutes = was->allotted_minutes;
    if (was->allotted_minutes != now.allotted_minutes)
      out.push_back(fmt::format("{} {:g} → {:g} min", now.station, was->allotted_minutes,
                                now.allotted_minutes));
    if (rest != *was) out.push_back(now.station + " described otherwise");
  }
  for (const PlannedStation& was : before.stations)
    if (!named(after.stations, was.station, &PlannedStation::station))
      out.push_back(was.station + " left out");
}

void wanted_changes(const Plan& before, const Plan& after, std::vector<std::string>& out) {
  for (const WantedKind& now : after.wanted) {
    const auto* was = named(before.wanted, now.rock, &WantedKind::rock);
    if (!was) {
      out.push_back(fmt::format("{} wanted, {}", now.rock, now.number));
      if (now.weight != WantedKind{}.weight) out.back() += fmt::format(", weight {:g}", now.weight);
      continue;
    }
    if (was->number != now.number)
      out.push_back(fmt::format("{} wanted {} → {}", now.rock, was->number, now.number));
    if (was->weight != now.weight)
      out.push_back(fmt::format("{} weight {:g} → {:g}", now.rock, was->weight, now.weight));
    if (was->repeat != now.repeat)
      out.push_back(fmt::format("{} repeat {:g} → {:g}", now.rock, was->repeat, now.repeat));
  }
  for (const WantedKind& was : before.wanted)
    if (!named(after.wanted, was.rock, &WantedKind::rock))
      out.push_back(was.rock + " no longer wanted");
}

}  // namespace

Plan with_edits(Plan plan, const PlanEdits& edits) {
  for (const auto& [station, minutes] : edits.allotted)
    if (auto* found = named(plan.stations, station, &PlannedStation::station))
      found->allotted_minutes = minutes;
  for (const auto& [rock, number] : edits.number) {
    auto* found = named(plan.wanted, rock, &WantedKind::rock);
    if (number <= 0)
      std::erase_if(plan.wanted, [&](const WantedKind& each) { return each.rock == rock; });
    else if (found)
      found->number = number;
    else if (named(plan.vocabulary, rock, &protocol::RockKind::rock))
      plan.wanted.push_back({.rock = rock, .number = number});
  }
  for (const auto& [rock, weight] : edits.weight)
    if (auto* found = named(plan.wanted, rock, &WantedKind::rock)) found->weight = weight;
  return plan;
}

std::vector<std::string> plan_changes(const Plan& before, const Plan& after) {
  std::vector<std::string> out;
  station_changes(before, after, out);
  wanted_changes(before, after, out);
  const auto was = protocol::to_json(before), now = protocol::to_json(after);
  auto differs = [&](const std::string& name) {
    return was.contains(name) != now.contains(name) ||
           (was.contains(name) && was[name] != now[name]);
  };
  std::vector<std::string> names;
  for (const auto& json : {was, now})
    for (const auto& [name, value] : json.items())
      if (name != "stations" && name != "wanted" && differs(name) &&
          std::ranges::find(names, name) == names.end())
        names.push_back(name);
  for (const std::string& name : names) out.push_back(name + " changed");
  return out;
}

std::string plan_line_text(const protocol::PlanGiven& given, const protocol::EventPtr& replaced) {
  const auto* before = replaced ? std::get_if<protocol::PlanGiven>(&replaced->body) : nullptr;
  if (!before) return "Plan: " + given.plan->name + ".";
  std::string text;
  for (const std::string& change : plan_changes(*before->plan, *given.plan))
    text += (text.empty() ? "Plan changed: " : "; ") + change;
  return text.empty() ? "Plan given again, the same." : text + ".";
}

}  // namespace stonecall::desk
