#include "console/desk/call_sending.hpp"

#include <algorithm>
#include <ranges>

#include "console/desk/numbers_age.hpp"

namespace stonecall::desk {
namespace {

using advise::Advice;
using protocol::Says;

protocol::Timestamp stamp(const View& view, protocol::Milliseconds elapsed) {
  protocol::Timestamp t;
  t.instant = picture::start_of(*view.picture) + elapsed;
  if (const auto* plan = view.plan()) t.offset = plan->start.offset;
  return t;
}

/// What the advice asks the field to do; none: nothing.
std::optional<Says> says_of(Advice::Kind kind) {
  switch (kind) {
    case Advice::Kind::stay_until:
      return Says::stay;
    case Advice::Kind::move_on:
    case Advice::Kind::turn_back:
      return Says::move_on;
    case Advice::Kind::get_first:
      return Says::get;
    case Advice::Kind::ask:
      return Says::ask;
    case Advice::Kind::no_call:
      break;
  }
  return std::nullopt;
}

}  // namespace

bool may_send(const View& view) {
  return view.mode != Mode::replay && view.picture;
}

bool may_state(const View& view) {
  return view.picture != nullptr;
}

bool may_answer_for_field(const View& view) {
  return view.mode == Mode::live && view.picture;
}

std::optional<protocol::Call> advised_call(const View& view) {
  const Advice* advice = view.advice();
  if (!advice || !view.picture || outdated(view) || advice->sentence.empty()) return std::nullopt;
  const std::optional<Says> says = says_of(advice->kind);
  if (!says) return std::nullopt;
  protocol::Call call;
  call.text = advice->sentence;
  call.advised = true;
  call.says = *says;
  if (advice->depart) call.until = stamp(view, *advice->depart);
  if (!view.assessment->here.station.empty()) call.station = view.assessment->here.station;
  if (const auto& back = view.assessment->turn_back) {
    auto lead = back->latest_departure - back->latest_useful_call;  // link and reaction
    call.useful_until =
        stamp(view, advice->depart ? std::min(*advice->depart, back->latest_departure) - lead
                                   : back->latest_useful_call);
  }
  return call;
}

bool already_sent(const View& view, const std::string& sentence) {
  if (!view.picture) return false;
  const auto stands = [&](const picture::CallMade& call) {
    return call.call.text == sentence &&
           (call.replies.empty() || call.replies.back().answer != protocol::Answered::declined);
  };
  // What is asked for went out lately, if at all.
  return std::ranges::any_of(view.picture->calls | std::views::reverse, stands);
}

}  // namespace stonecall::desk
