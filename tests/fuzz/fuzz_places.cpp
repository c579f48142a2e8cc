// Any bytes as points of a map program: no crash; each point lies on the globe under a name of its
// own, and a plan can be begun with them.
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <set>
#include <string>
#include <string_view>

#include "console/commands/places.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

namespace {

void check(const protocol::Result<std::vector<commands::Place>>& places) {
  if (!places) return require(!places.error().what.empty());
  require(!places->empty());
  std::set<std::string> names;
  for (const commands::Place& place : *places) {
    require(!place.name.empty() && names.insert(place.name).second);
    require(std::abs(place.position.latitude) <= 90 && std::abs(place.position.longitude) <= 180);
    require(!place.position.height_metres || std::isfinite(*place.position.height_metres));
  }
  const auto start = protocol::parse_timestamp("2027-06-09T08:30:00.000+04:00");
  const auto plan = commands::starter_plan(*places, "Ridge", *start);
  // What is written for a hand to change is readable again, whatever remains to be put right in it.
  require(!protocol::to_json(plan).dump().empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  check(commands::places_from_geojson(bytes));
  check(commands::places_from_gpx(bytes));
  check(commands::places_from(bytes));
  return 0;
}
