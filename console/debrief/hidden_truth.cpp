#include "console/debrief/hidden_truth.hpp"

#include <cmath>

#include "protocol/event.hpp"

namespace stonecall::debrief {

using protocol::Fault;
using protocol::Json;

std::string to_text(const std::vector<StationTruth>& truth) {
  Json json = Json::array();
  for (const StationTruth& station : truth) {
    Json shares = Json::array();
    for (const auto& share : station.shares)
      shares.push_back({{"rock", share.rock}, {"percent", share.percent}});
    json.push_back({{"station", station.station}, {"shares", std::move(shares)}});
  }
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + '\n';
}

protocol::Result<std::vector<StationTruth>> parse_truth(std::string_view text) {
  constexpr std::size_t most_bytes = 1024 * 1024;
  const auto json = protocol::parse_json(text, most_bytes);
  if (!json) return tl::unexpected(json.error());
  const Fault form{"", R"(expected a list of {"station", "shares": [{"rock", "percent"}]})", {}};
  if (!json->is_array()) return tl::unexpected(form);
  std::vector<StationTruth> truth;
  try {
    for (const Json& each : *json) {
      StationTruth& station = truth.emplace_back();
      station.station = each.at("station").get<std::string>();
      for (const Json& share : each.at("shares")) {
        const double percent = share.at("percent").get<double>();
        if (!(percent >= 0 && percent <= 100))
          return tl::unexpected(Fault{"percent", "must be from 0 to 100", {}});
        station.shares.push_back({share.at("rock").get<std::string>(), percent});
      }
    }
  } catch (const Json::exception&) {
    return tl::unexpected(form);
  }
  return truth;
}

}  // namespace stonecall::debrief
