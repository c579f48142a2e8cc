// Any bytes as JSON, an event, a recorded log or a plan: no crash, and what is taken is written
// again as the same thing.
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <string_view>

#include "protocol/event.hpp"
#include "protocol/json_text.hpp"
#include "protocol/log.hpp"
#include "protocol/plan.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall::protocol;

using stonecall::test::require;

namespace {

/// Two readers that know nothing of each other take the same texts, and as the same values.
void as_json(std::string_view bytes) {
  JsonText text;
  const auto value = text.read(bytes, Limits::event_bytes);
  const auto other = Json::parse(bytes, nullptr, false);
  if (value)
    require(json_of(*value) == other);
  else
    require(other.is_discarded() || bytes.size() > Limits::event_bytes ||
            value.error().what.starts_with("is nested "));
}

void as_event(std::string_view bytes) {
  const auto event = parse_event(bytes);
  if (!event) {
    require(!event.error().what.empty());
    return;
  }
  const auto again = parse_event(to_line(*event));
  require(again && *again == *event && same_content(*again, *event));
}

void as_plan(std::string_view bytes) {
  const auto plan = parse_plan(bytes);
  if (!plan) return;
  const auto again = parse_plan(to_json(*plan).dump());
  require(again && *again == *plan);
}

void as_log(std::string_view bytes) {
  std::istringstream in{std::string(bytes)};
  const auto log = read_log(in);
  std::string written;
  for (const auto& event : log.events) written += to_line(*event) + '\n';
  std::istringstream again{written};
  const auto once_more = read_log(again);
  require(once_more.events.size() == log.events.size());
  for (std::size_t i = 0; i < log.events.size(); ++i)
    require(*once_more.events[i] == *log.events[i]);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  as_json(bytes);
  as_event(bytes);
  as_plan(bytes);
  as_log(bytes);
  return 0;
}
