#include "console/debrief/followed.hpp"

#include <algorithm>

namespace stonecall::debrief {
namespace {

using picture::Instant;
using picture::Picture;

/// The stay that goes on when the call is made, else the next one.
const picture::Visit* next_to_leave(const Picture& picture, Instant at) {
  const std::string base = picture.plan ? picture.plan->base.station : std::string{};
  for (const auto& visit : picture.visits) {
    if (visit.station != base && (!visit.left || *visit.left > at)) return &visit;
  }
  return nullptr;
}

}  // namespace

const picture::Sample* sample_named(const Picture& picture, const std::string& name) {
  for (const auto member : {&picture::Sample::number, &picture::Sample::bag}) {
    const auto found = std::ranges::find(picture.samples, name, member);
    if (!name.empty() && found != picture.samples.end()) return &*found;
  }
  return nullptr;
}

Followed followed(const Picture& picture, const picture::CallMade& call, Instant end) {
  Followed after;
  for (const auto& reply : call.replies) {
    const Instant at = reply.origin.at;
    if (!after.heard) after.heard = at;
    if (!after.acted && reply.answer == protocol::Answered::acting) after.acted = at;
    if (!after.declined && reply.answer == protocol::Answered::declined) after.declined = at;
  }
  if (call.call.useful_until)
    after.in_time = after.heard && *after.heard <= call.call.useful_until->instant;

  const Instant from = call.origin.at;
  Instant until = end;
  if (const auto* visit = next_to_leave(picture, from)) {
    after.station = visit->station;
    after.left = visit->left;
    until = visit->left.value_or(end);
  }
  const auto between = [&](Instant at) { return at > from && at <= until; };
  for (std::size_t i = 0; i < picture.samples.size(); ++i) {
    // Its first word may be a photograph, which is taken before the rock is lifted.
    const auto& sample = picture.samples[i];
    if (sample.taken && between(sample.statements.front().at)) after.samples.push_back(i);
  }
  for (std::size_t i = 0; i < picture.looks.size(); ++i) {
    if (between(picture.looks[i].origin.at)) after.looks.push_back(i);
  }
  for (const auto& kind : picture.kinds) {
    const auto first = picture::first_seen(picture, kind);
    if (first && between(*first)) after.new_kinds.push_back(kind);
  }
  if (call.call.sample) {
    if (const auto* sample = sample_named(picture, *call.call.sample))
      after.sample_lacks = picture::gaps(
          *sample, picture.plan ? picture.plan->documentation : protocol::Documentation{});
  }
  return after;
}

}  // namespace stonecall::debrief
