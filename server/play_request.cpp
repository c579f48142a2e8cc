#include "server/play_request.hpp"

#include <string>

#include "protocol/time.hpp"

namespace stonecall::server {
namespace {

using protocol::Json;

constexpr std::size_t longest = 1'000;
constexpr double slowest = 0.01;
constexpr double fastest = 100'000;

}  // namespace

tl::expected<PlayChange, Problem> read_play_change(std::string_view body) {
  const auto refuse = [](std::string why) { return tl::unexpected(Problem{400, std::move(why)}); };
  const auto json = protocol::parse_json(body, longest);
  if (!json) return refuse(to_string(json.error()));
  if (!json->is_object() || json->empty())
    return refuse(R"(expected an object with "paused", "speed" or "to")");
  PlayChange change;
  for (const auto& [member, value] : json->items()) {
    if (member == "paused" && value.is_boolean()) {
      change.paused = value.get<bool>();
    } else if (member == "speed" && value.is_number() && value.get<double>() >= slowest &&
               value.get<double>() <= fastest) {
      change.speed = value.get<double>();
    } else if (member == "to" && value.is_string()) {
      const auto to = protocol::parse_elapsed(value.get<std::string>());
      if (!to) return refuse("\"to\": " + to_string(to.error()));
      change.to = *to;
    } else {
      return refuse(
          "\"" + member +
          R"(": expected "paused" with true or false, "speed" from 0.01 to 100000, or "to" with an elapsed time as "1:30")");
    }
  }
  return change;
}

Json to_json(const PlayState& state) {
  Json json;
  json["elapsed"] = protocol::elapsed_text(state.elapsed);
  if (!state.unseen) json["end"] = protocol::elapsed_text(state.end);
  json["speed"] = state.speed;
  json["paused"] = state.paused;
  json["waiting"] = state.waiting;
  json["played"] = state.played;
  if (!state.unseen) json["events"] = state.events;
  return json;
}

}  // namespace stonecall::server
