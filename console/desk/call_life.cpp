#include "console/desk/call_life.hpp"

#include <chrono>

#include "console/debrief/chances.hpp"
#include "console/desk/clock_text.hpp"

namespace stonecall::desk {
namespace {

/// What the field said last of it, as far as that is known by now; null: nothing.
const picture::Reply* last_reply(const picture::CallMade& call, protocol::Instant now) {
  const picture::Reply* last = nullptr;
  for (const auto& reply : call.replies)
    if (reply.origin.at <= now) last = &reply;
  return last;
}

/// Of a call that is to be heard and acted on.
CallLife life_of_call(const picture::CallMade& call, const View& view) {
  const picture::Reply* last = last_reply(call, view.now);
  const bool late = call.call.useful_until && call.call.useful_until->instant < view.now;
  if (last) {
    switch (last->answer) {
      case protocol::Answered::heard:
        return {late ? "heard, no answer in time"
                     : "heard " + age_text(view.now - last->origin.at) + " ago",
                false};
      case protocol::Answered::acting:
        return {"acting", false};
      case protocol::Answered::declined:
        return {"declined", true};
    }
  }
  if (view.mode != Mode::replay && view.link.kind != LinkState::Kind::connected && !call.received)
    return {"waiting to go out", true};
  if (late) return {"not heard in time", true};
  const protocol::Plan* plan = view.plan();
  const auto there_and_back = std::chrono::duration_cast<protocol::Milliseconds>(
      std::chrono::duration<double>(plan ? 2 * plan->link.delay_seconds : 0));
  const auto reaction = protocol::from_minutes(plan ? plan->link.reaction_minutes : 3);
  const auto age = view.now - call.origin.at;
  if (age <= there_and_back) return {"on its way", false};
  if (view.recorded_party && age > there_and_back + reaction)
    return {"sent " + age_text(age) + " ago", false};
  return {"not heard " + age_text(age), age > there_and_back + reaction};
}

}  // namespace

CallLife life_of(const picture::CallMade& call, const View& view) {
  const bool chance = call.call.chance && call.call.outcome;
  const auto came_true =
      chance && view.picture ? debrief::outcome_of(*view.picture, call.origin.id) : std::nullopt;
  const std::string outcome = !came_true ? "" : *came_true ? "came true" : "did not";
  if (protocol::only_states_a_chance(call.call)) return {came_true ? outcome : "stated", false};
  CallLife life = life_of_call(call, view);
  if (came_true) life.words += ", " + outcome;
  return life;
}

CallLife life_of(const picture::QuestionAsked& question, const View& view) {
  if (!question.answers.empty()) return {"answered", false};
  const auto open = view.now - question.origin.at;
  constexpr std::chrono::minutes long_open{10};
  return {"open " + age_text(open), open >= long_open};
}

}  // namespace stonecall::desk
