#include "server/intake.hpp"

#include <algorithm>
#include <cassert>

namespace stonecall::server {
namespace {

using protocol::Event;
using protocol::Json;
using protocol::Limits;

void take_event(Intake& intake, protocol::Result<Event> event, std::string id, Role role) {
  if (!event) {
    intake.items.push_back({std::move(id), to_string(event.error())});
    return;
  }
  id = protocol::to_string(event->id);
  const std::string kind(kind_of(*event));
  if (!may_post(role, kind)) {
    intake.items.push_back(
        {std::move(id), "\"kind\": " + std::string(to_string(role)) + " may not post " + kind});
    return;
  }
  event->received.reset();
  Draft draft = draft_of(std::move(*event));
  const std::size_t bytes =
      draft.head.size() + draft.tail.size() + PostLimits::server_members_bytes;
  if (bytes > Limits::event_bytes) {
    intake.items.push_back({std::move(id), "is " + std::to_string(bytes) +
                                               " bytes long as stored; the limit is " +
                                               std::to_string(Limits::event_bytes)});
    return;
  }
  intake.items.push_back({std::move(id), {}});
  intake.drafts.push_back(std::move(draft));
}

/// The id of an event that could not be read, if that much could be.
std::string id_in(const Json& json) {
  if (!json.is_object() || !json.contains("id") || !json["id"].is_string()) return {};
  const auto id = protocol::parse_uuid(json["id"].get<std::string>());
  return id ? protocol::to_string(*id) : std::string();
}

Problem too_many() {
  return {413, "more than " + std::to_string(PostLimits::events) + " events in one post"};
}

tl::expected<Intake, Problem> read_lines(std::string_view body, Role role) {
  Intake intake;
  std::size_t number = 0;
  while (!body.empty()) {
    ++number;
    const std::size_t end = body.find('\n');
    std::string_view line = body.substr(0, end);
    body.remove_prefix(end == std::string_view::npos ? body.size() : end + 1);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line.empty()) continue;
    if (intake.items.size() == PostLimits::events) return tl::unexpected(too_many());
    const auto json = protocol::parse_json(line, Limits::event_bytes);
    auto event = protocol::parse_event(line);
    if (!event) event.error().line = number;
    take_event(intake, std::move(event), json ? id_in(*json) : std::string(), role);
  }
  return intake;
}

tl::expected<Intake, Problem> read_array(std::string_view body, Role role) {
  const auto json = protocol::parse_json(body, PostLimits::bytes);
  if (!json) return tl::unexpected(Problem{400, to_string(json.error())});
  if (json->size() > PostLimits::events) return tl::unexpected(too_many());
  Intake intake;
  for (const Json& event : *json)
    take_event(intake, protocol::event_from_json(event), id_in(event), role);
  return intake;
}

}  // namespace

tl::expected<Intake, Problem> read_post(std::string_view body, PostForm form, Role role) {
  tl::expected<Intake, Problem> intake;
  const std::size_t begin = body.find_first_not_of(" \t\r\n");
  if (begin == std::string_view::npos) return tl::unexpected(Problem{400, "no event in the post"});
  if (form == PostForm::lines) {
    intake = read_lines(body, role);
  } else if (body[begin] == '[') {
    intake = read_array(body, role);
  } else {
    auto event = protocol::parse_event(body);
    std::string id;
    if (!event) {
      if (const auto json = protocol::parse_json(body, Limits::event_bytes)) id = id_in(*json);
    }
    intake = Intake{};
    take_event(*intake, std::move(event), std::move(id), role);
  }
  if (intake && intake->items.empty()) return tl::unexpected(Problem{400, "no event in the post"});
  return intake;
}

std::string results_text(const std::vector<Intake::Item>& items,
                         const std::vector<Placed>& placed) {
  // Written as text, not as JSON values: it is done for each event, on the thread that commits.
  std::string text = "[";
  auto next = placed.begin();
  for (const Intake::Item& item : items) {
    if (text.size() > 1) text += ',';
    // An id that could be read is hexadecimal digits and dashes.
    if (item.id.empty())
      text += R"({"id":null)";
    else
      text.append(R"({"id":")").append(item.id).append("\"");
    const std::string* refused = &item.refused;
    if (refused->empty()) {
      assert(next != placed.end());
      if (next->refused.empty()) text.append(R"(,"seq":)").append(std::to_string(next->seq));
      refused = &next->refused;
      ++next;
    }
    if (!refused->empty())
      text.append(R"(,"refused":)")
          .append(Json(*refused).dump(-1, ' ', false, Json::error_handler_t::replace));
    text += '}';
  }
  return text += ']';
}

PostAnswer answer_to(const std::vector<Intake::Item>& items, const std::vector<Placed>& placed) {
  const std::string results = results_text(items, placed);
  if (placed.empty()) {
    Problem problem{400, "none of the events could be taken: " + items.front().refused};
    problem.more["results"] = Json::parse(results);
    return {problem.status, problem.to_json().dump(-1, ' ', false, Json::error_handler_t::replace)};
  }
  const bool all_stand =
      placed.size() == items.size() &&
      std::all_of(placed.begin(), placed.end(), [](const Placed& p) { return p.refused.empty(); });
  return {all_stand ? 200u : 207u, R"({"results":)" + results + "}"};
}

Problem problem_of(const StoreFault& fault) {
  Problem problem{fault.kind == StoreFault::Kind::full ? 507u : 503u, fault.what};
  problem.more["store"] = std::string(to_string(fault.kind));
  return problem;
}

}  // namespace stonecall::server
