// Any bytes as a catalogue of samples: no crash; each row that is taken makes an event that the
// protocol takes too.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "console/commands/samples_table.hpp"
#include "protocol/event.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto table =
      commands::samples_from_csv(bytes, {std::chrono::minutes(240), std::string("2027-06-09")});
  if (!table) {
    require(!table.error().what.empty());
    return 0;
  }
  for (const auto& fault : table->faults) require(!fault.what.empty());
  std::size_t line = 0;
  for (const auto& row : table->rows) {
    require(row.line > line);
    line = row.line;
    protocol::Event event;
    event.id.data[15] = 1;
    event.at = row.at ? *row.at : *protocol::parse_timestamp("2027-06-09T08:30:00.000+04:00");
    event.from = "CATALOGUE";
    event.body = row.sample;
    const auto again = protocol::parse_event(protocol::to_line(event));
    require(again && *again == event);
  }
  return 0;
}
