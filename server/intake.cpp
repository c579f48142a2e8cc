#include "server/intake.hpp"

#include <algorithm>
#include <cassert>

#include "protocol/event_reader.hpp"

namespace stonecall::server {
namespace {

using protocol::Event;
using protocol::Json;
using protocol::Limits;

/// Who may not post a kind may not change what others posted of it.
std::optional<Draft::Change> change_in(const Event& event, Role role) {
  const protocol::Uuid* target = protocol::changed_by(event);
  if (!target || role == Role::anyone || role == Role::adviser) return std::nullopt;
  return Draft::Change{*target, [role, how = std::string(kind_of(event))](std::string_view kind) {
                         return may_post(role, kind)
                                    ? std::string()
                                    : "\"target\": " + std::string(to_string(role)) + " may not " +
                                          how + " a " + std::string(kind);
                       }};
}

void take_event(Intake& intake, protocol::EventRead read, Role role) {
  auto& event = read.event;
  if (!event) {
    std::string id = read.id ? protocol::to_string(*read.id) : std::string();
    intake.items.push_back({std::move(id), to_string(event.error())});
    return;
  }
  std::string id = protocol::to_string(event->id);
  const std::string kind(kind_of(*event));
  if (!may_post(role, kind)) {
    intake.items.push_back(
        {std::move(id), "\"kind\": " + std::string(to_string(role)) + " may not post " + kind});
    return;
  }
  event->received.reset();
  auto change = change_in(*event, role);
  Draft draft = draft_of(std::move(*event));
  draft.change = std::move(change);
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

/// Where posts are read; each event is copied out of it before the next.
protocol::JsonText& text_of_posts() {
  thread_local protocol::JsonText text;
  return text;
}

protocol::EventRead read_one(std::string_view text) {
  const auto value = text_of_posts().read(text, Limits::event_bytes, 0);
  if (!value) return {tl::unexpected(value.error()), {}, {}};
  return protocol::read_event(*value);
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
    protocol::EventRead read = read_one(line);
    if (!read.event) read.event.error().line = number;
    take_event(intake, std::move(read), role);
  }
  return intake;
}

tl::expected<Intake, Problem> read_array(std::string_view body, Role role) {
  const auto list = text_of_posts().read(body, PostLimits::bytes);
  if (!list) return tl::unexpected(Problem{400, to_string(list.error())});
  const simdjson::dom::array events(*list);
  if (events.size() > PostLimits::events) return tl::unexpected(too_many());
  Intake intake;
  for (const protocol::Value event : events) take_event(intake, protocol::read_event(event), role);
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
    intake = Intake{};
    take_event(*intake, read_one(body), role);
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
