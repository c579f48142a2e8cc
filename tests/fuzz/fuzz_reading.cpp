// Any bytes as a note: no crash, and proposals that lie within the text and their ranges.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "console/reading/reader.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall::reading;

using stonecall::test::require;

namespace {

bool in_range(const Portion& percent) {
  return 0 <= percent.low && percent.low <= percent.best && percent.best <= percent.high &&
         percent.high <= 100;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Reader reader(
      Vocabulary{{{"granite", {"pink granite"}},
                  {"vesicular basalt", {"bubbly basalt"}},
                  {"basalt", {"blue rock"}},
                  {"scoria", {"cinder"}}},
                 {{"Heron Ford", {"the ford", "station one"}}, {"Kite Ridge", {"the ridge"}}}});
  const std::string_view note(reinterpret_cast<const char*>(data), size);
  Context context{"Heron Ford", "9", "40", {"8", "9"}};
  const auto proposals = reader.read(note, context);
  for (const Proposal& proposal : proposals) {
    require(proposal.words.begin < proposal.words.end && proposal.words.end <= note.size());
    require(proposal.sureness > 0 && proposal.sureness <= 1);
    if (const auto* share = std::get_if<RockShare>(&proposal.fact))
      require(in_range(share->percent));
    if (const auto* buried = std::get_if<BuriedPart>(&proposal.fact))
      require(in_range(buried->percent));
    if (const auto* side = std::get_if<LongestSide>(&proposal.fact))
      require(std::isfinite(side->mm) && side->mm > 0);
    if (const auto* total = std::get_if<RocksLookedAt>(&proposal.fact)) require(total->total > 0);
  }
  follow(context, proposals);
  return 0;
}
