#include "console/desk/call_answers.hpp"

#include <algorithm>
#include <array>

#include "console/debrief/chances.hpp"
#include "console/desk/call_sending.hpp"
#include "console/desk/call_writing.hpp"

namespace stonecall::desk {
namespace {

using picture::CallMade;

/// The stated chances, oldest first: those first whose outcome nobody has said, of these our own.
std::vector<const CallMade*> chances_of(const picture::Picture& picture,
                                        const std::string& adviser) {
  std::vector<const CallMade*> chances;
  for (const auto& call : picture.calls)
    if (call.call.chance && call.call.outcome) chances.push_back(&call);
  std::ranges::stable_sort(chances, {}, [&](const CallMade* each) {
    return std::pair(debrief::outcome_of(picture, each->origin.id).has_value(),
                     each->origin.from != adviser);
  });
  return chances;
}

void answer_for_field(const CallMade& call, const Canvas& canvas, Commands& out) {
  using protocol::Answered;
  constexpr std::array<std::pair<std::string_view, Answered>, 3> keys{
      {{"call.heard", Answered::heard},
       {"call.acting", Answered::acting},
       {"call.declined", Answered::declined}}};
  for (const auto& [key, answered] : keys)
    if (canvas.asked(key) && (call.replies.empty() || call.replies.back().answer != answered))
      out.push_back(ask::Post{protocol::CallAnswer{call.origin.id, answered, std::nullopt}, {}});
}

}  // namespace

std::optional<protocol::Uuid> mark_chances(const View& view, const std::string& adviser,
                                           const Canvas& canvas, Commands& out) {
  const bool came_true = canvas.asked("call.true");
  const bool mark = came_true || canvas.asked("call.false");
  if (!view.picture || (!mark && !canvas.asked("call.mark"))) return std::nullopt;
  const auto chances = chances_of(*view.picture, adviser);
  const auto chosen = std::ranges::find_if(
      chances, [&](const CallMade* each) { return canvas.chosen().event == each->origin.id; });
  if (mark && chosen == chances.end()) return std::nullopt;
  if (mark) out.push_back(ask::Post{debrief::outcome_said((*chosen)->origin.id, came_true), {}});
  if (chances.empty()) return std::nullopt;
  const CallMade* next = chosen == chances.end() || std::next(chosen) == chances.end()
                             ? chances.front()
                             : *std::next(chosen);
  Chosen choose = canvas.chosen();
  choose.event = next->origin.id;
  out.push_back(ask::Choose{choose});
  return next->origin.id;
}

void answer_chosen(const View& view, CallWriting& writing, const Canvas& canvas, Commands& out) {
  if (!view.picture || !canvas.chosen().event) return;
  const protocol::Uuid chosen = *canvas.chosen().event;
  const auto is_it = [&](const auto& each) { return each.origin.id == chosen; };
  const auto& calls = view.picture->calls;
  const auto call = std::ranges::find_if(calls, is_it);
  const bool asked = std::ranges::any_of(view.picture->questions, is_it);
  if (call != calls.end() && !protocol::only_states_a_chance((*call).call) &&
      may_answer_for_field(view))
    answer_for_field(*call, canvas, out);
  if (asked && canvas.asked("call.answer") && may_send(view)) {
    start_writing(writing, CallWriting::What::answer);
    writing.answering = chosen;
  }
  if (!writing.begun() && canvas.asked("call.enter") && (call != calls.end() || asked)) {
    out.push_back(ask::ShowEvent{chosen});
    out.push_back(ask::Focus{RegionId::heard});
  }
}

}  // namespace stonecall::desk
