#include "protocol/plan.hpp"

#include <algorithm>
#include <set>

#include "protocol/json_line.hpp"
#include "protocol/plan_file.hpp"
#include "protocol/reader.hpp"
#include "protocol/writer.hpp"

namespace stonecall::protocol {
namespace {

/// "stations[2].station", within what stands before it.
std::string numbered(const std::string& list, std::size_t i, const char* member) {
  return list + "[" + std::to_string(i) + "]" + (*member ? "." : "") + member;
}

/// Names that repeat an earlier one of their list.
template <class Entry, class Projection>
void none_repeated(const std::vector<Entry>& list, Projection name, const std::string& path,
                   const char* member, Faults& faults) {
  std::set<std::string, std::less<>> seen;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const std::string& each = std::invoke(name, list[i]);
    if (!seen.insert(each).second)
      faults.add(numbered(path, i, member), "\"" + each + "\" is listed twice");
  }
}

}  // namespace

void consistent(const Plan& plan, const std::string& path, Faults& faults) {
  const std::string prefix = path.empty() ? "" : path + ".";
  const std::string stations = prefix + "stations", vocabulary = prefix + "vocabulary",
                    wanted = prefix + "wanted", people = prefix + "people";
  const bool stations_sound = faults.sound(stations), rocks_sound = faults.sound(vocabulary),
             wanted_sound = faults.sound(wanted);
  if (stations_sound)
    none_repeated(plan.stations, &PlannedStation::station, stations, "station", faults);
  if (rocks_sound) none_repeated(plan.vocabulary, &RockKind::rock, vocabulary, "rock", faults);
  if (wanted_sound) none_repeated(plan.wanted, &WantedKind::rock, wanted, "rock", faults);
  if (faults.sound(people)) none_repeated(plan.people, &Person::name, people, "name", faults);

  const auto listed = [&](const std::string& rock) {
    return !rocks_sound ||
           std::ranges::find(plan.vocabulary, rock, &RockKind::rock) != plan.vocabulary.end();
  };
  const auto not_listed = [&](const std::string& member, const std::string& rock) {
    faults.add(member, "\"" + rock + "\" is not in the vocabulary; add it there");
  };
  for (std::size_t i = 0; wanted_sound && i < plan.wanted.size(); ++i) {
    if (!listed(plan.wanted[i].rock)) not_listed(numbered(wanted, i, "rock"), plan.wanted[i].rock);
  }
  for (std::size_t i = 0; stations_sound && i < plan.stations.size(); ++i) {
    const auto& station = plan.stations[i];
    if (station.station == plan.base.station && faults.sound(prefix + "base"))
      faults.add(numbered(stations, i, "station"), "has the name of the base");
    const std::string expected = numbered(stations, i, "expected");
    none_repeated(station.expected, &ExpectedShare::rock, expected, "rock", faults);
    double sum = 0;
    for (std::size_t j = 0; j < station.expected.size(); ++j) {
      sum += station.expected[j].percent;
      if (!listed(station.expected[j].rock))
        not_listed(numbered(expected, j, "rock"), station.expected[j].rock);
    }
    constexpr double kRounding = 1e-6;
    if (sum > 100 + kRounding)
      faults.add(expected, "adds up to " + Json(sum).dump() + " %, more than 100 %");
  }
  const Method& method = plan.method;
  if (faults.sound(prefix + "method") && method.rare_percent > method.typical_percent) {
    faults.add(prefix + "method.rare_percent", "is " + Json(method.rare_percent).dump() +
                                                   ", above typical_percent, " +
                                                   Json(method.typical_percent).dump());
  }
}

Result<Plan> plan_from_json(const Json& json) {
  const std::string text = json.dump(-1, ' ', false, Json::error_handler_t::replace);
  JsonText source;
  const auto value = source.read(text, text.size());
  if (!value) return tl::make_unexpected(value.error());
  Plan plan;
  Faults faults;
  read_object(*value, plan, Place{}, faults, &plan.unknown);
  if (!faults.list.empty()) return tl::make_unexpected(std::move(faults.list.front()));
  return plan;
}

PlanRead read_plan(std::string_view text) {
  constexpr std::size_t kPlanBytes = 1024 * 1024;
  PlanRead read;
  JsonText source;
  const auto value = source.read(text, kPlanBytes);
  if (!value) {
    read.faults.push_back(value.error());
    return read;
  }
  Faults faults{true, {}, {}};
  Plan plan;
  read_object(*value, plan, Place{}, faults, &plan.unknown);
  const auto by_line = [&](std::vector<Fault> list) {
    for (Fault& fault : list) fault.line = line_in_json(text, fault.member);
    std::ranges::stable_sort(list, {}, [](const Fault& each) { return each.line; });
    return list;
  };
  read.faults = by_line(std::move(faults.list));
  read.unheeded = by_line(std::move(faults.unheeded));
  if (read.faults.empty()) read.plan = std::move(plan);
  return read;
}

Result<Plan> parse_plan(std::string_view text) {
  PlanRead read = read_plan(text);
  if (!read.plan) return tl::make_unexpected(std::move(read.faults.front()));
  return std::move(*read.plan);
}

Json to_json(const Plan& plan) {
  std::string json = "{";
  Writer writer(json);
  describe(writer, plan);
  writer.all_of(plan.unknown);
  return Json::parse(json += '}');
}

std::string_view to_string(View view) {
  return word_of(view);
}
std::string_view to_string(Description description) {
  return word_of(description);
}

}  // namespace stonecall::protocol
