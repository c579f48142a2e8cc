#include "protocol/plan.hpp"

#include <algorithm>
#include <set>

#include "protocol/reader.hpp"

namespace stonecall::protocol {
namespace {

std::string numbered(const std::string& path, const char* list, std::size_t i, const char* member) {
  return (path.empty() ? "" : path + ".") + list + "[" + std::to_string(i) + "]." + member;
}

/// The first entry of `list` that repeats an earlier one's name.
template <class Entry, class Projection>
std::optional<Fault> repeated(const std::vector<Entry>& list, Projection name,
                              const std::string& path, const char* list_name, const char* member) {
  std::set<std::string, std::less<>> seen;
  for (std::size_t i = 0; i < list.size(); ++i) {
    const std::string& each = std::invoke(name, list[i]);
    if (!seen.insert(each).second) {
      return Fault{numbered(path, list_name, i, member), "\"" + each + "\" is listed twice",
                   std::nullopt};
    }
  }
  return std::nullopt;
}

}  // namespace

std::optional<Fault> consistent(const Plan& plan, const std::string& path) {
  if (auto twice = repeated(plan.stations, &PlannedStation::station, path, "stations", "station"))
    return twice;
  if (auto twice = repeated(plan.vocabulary, &RockKind::rock, path, "vocabulary", "rock"))
    return twice;
  if (auto twice = repeated(plan.wanted, &WantedKind::rock, path, "wanted", "rock")) return twice;
  if (auto twice = repeated(plan.people, &Person::name, path, "people", "name")) return twice;

  const auto listed = [&](const std::string& rock) {
    return std::ranges::find(plan.vocabulary, rock, &RockKind::rock) != plan.vocabulary.end();
  };
  for (std::size_t i = 0; i < plan.wanted.size(); ++i) {
    if (!listed(plan.wanted[i].rock)) {
      return Fault{numbered(path, "wanted", i, "rock"),
                   "\"" + plan.wanted[i].rock + "\" is not in the vocabulary; add it there",
                   std::nullopt};
    }
  }
  for (std::size_t i = 0; i < plan.stations.size(); ++i) {
    const auto& station = plan.stations[i];
    if (station.station == plan.base.station) {
      return Fault{numbered(path, "stations", i, "station"), "has the name of the base",
                   std::nullopt};
    }
    if (auto twice = repeated(station.expected, &ExpectedShare::rock,
                              numbered(path, "stations", i, "expected"), "", "rock")) {
      return twice;
    }
    double sum = 0;
    for (const auto& expected : station.expected) {
      sum += expected.percent;
      if (!listed(expected.rock)) {
        return Fault{numbered(path, "stations", i, "expected"),
                     "\"" + expected.rock + "\" is not in the vocabulary; add it there",
                     std::nullopt};
      }
    }
    constexpr double kRounding = 1e-6;
    if (sum > 100 + kRounding) {
      return Fault{numbered(path, "stations", i, "expected"),
                   "adds up to " + Json(sum).dump() + " %, more than 100 %", std::nullopt};
    }
  }
  const Method& method = plan.method;
  if (method.rare_percent > method.typical_percent) {
    return Fault{path + "method.rare_percent",
                 "is " + Json(method.rare_percent).dump() + ", above typical_percent, " +
                     Json(method.typical_percent).dump(),
                 std::nullopt};
  }
  return std::nullopt;
}

Result<Plan> plan_from_json(const Json& json) {
  Plan plan;
  Json unknown = Json::object();
  if (auto fault = read_object(json, plan, "", &unknown))
    return tl::make_unexpected(std::move(*fault));
  plan.unknown = std::move(unknown);
  return plan;
}

Result<Plan> parse_plan(std::string_view text) {
  constexpr std::size_t kPlanBytes = 1024 * 1024;
  auto json = parse_json(text, kPlanBytes);
  if (!json) return tl::make_unexpected(json.error());
  return plan_from_json(*json);
}

Json to_json(const Plan& plan) {
  Json json = Json::object();
  Writer writer(json);
  describe(writer, plan);
  for (const auto& [name, value] : plan.unknown.items()) json[name] = value;
  return json;
}

std::string_view to_string(View view) {
  return word_of(view);
}
std::string_view to_string(Description description) {
  return word_of(description);
}

}  // namespace stonecall::protocol
