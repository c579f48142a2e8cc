// Any recorded log: the picture, the estimates and the call come out whole, in any order of
// arrival, with no number that is not one, and never past the latest departure.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>

#include "console/advise/assessment.hpp"
#include "console/commands/advise.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"
#include "tests/fuzz/finite.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

namespace {

bool cheap(const picture::Picture& picture) {
  return !picture.plan ||
         (picture.plan->method.draws <= 200 && picture.plan->stations.size() <= 8 &&
          picture.plan->duration_minutes <= 300 && picture.kinds.size() <= 20);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  std::istringstream in{std::string(reinterpret_cast<const char*>(data), size)};
  auto log = protocol::read_log(in);
  if (log.events.empty()) return 0;
  const auto picture = picture::fold(log.events);
  const auto now = log.events.back()->at.instant;
  const auto assessed =
      cheap(*picture) ? advise::assess_with_advice(*picture, now) : advise::assess(*picture, now);
  require(test::finite(commands::to_json(assessed, *picture)));
  if (assessed.advice && assessed.turn_back && assessed.advice->depart)
    require(*assessed.advice->depart <=
            std::max(assessed.turn_back->latest_departure, assessed.clock.elapsed));

  std::ranges::reverse(log.events);
  const auto backwards = picture::fold(log.events);
  require(advise::assess(*backwards, now) == advise::assess(*picture, now));
  return 0;
}
