// Any bytes as the body of a post, from each role, and as what is asked of a log that is played: no
// crash; a draft for each event that is not refused, whose text is that event, and an answer for
// each that was sent.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "protocol/event.hpp"
#include "server/intake.hpp"
#include "server/play_request.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;
using namespace stonecall::server;

namespace {

void as_post(std::string_view body, PostForm form, Role role) {
  const auto intake = read_post(body, form, role);
  if (!intake) {
    require(!intake.error().detail.empty() && intake.error().status >= 400);
    // Whatever was sent, the answer is JSON: no byte of it that is not UTF-8 comes back.
    require(!intake.error().to_json().dump().empty());
    return;
  }
  std::vector<Placed> placed;
  std::size_t taken = 0;
  for (const Intake::Item& item : intake->items) taken += item.refused.empty() ? 1 : 0;
  require(taken == intake->drafts.size());
  require(intake->items.size() <= PostLimits::events);
  for (const Draft& draft : intake->drafts) {
    const auto event = protocol::parse_event(draft.head + draft.tail + '}');
    require(event && event->id == draft.id && event->at.instant == draft.at);
    require(may_post(role, protocol::kind_of(*event)));
    placed.push_back({placed.size() + 1, false, {}});
  }
  const PostAnswer answer = answer_to(intake->items, placed);
  require(protocol::parse_json(answer.body, 64 * 1024 * 1024).has_value());
}

void as_play_change(std::string_view body) {
  const auto change = read_play_change(body);
  if (!change) return require(!change.error().to_json().dump().empty());
  require(!change->speed || (std::isfinite(*change->speed) && *change->speed > 0));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  const auto role = static_cast<Role>(data[0] & 3);
  as_post(bytes, data[0] & 4 ? PostForm::lines : PostForm::json, role);
  as_play_change(bytes);
  return 0;
}
