// Any bytes as a file of notes, with whatever plan stands among them or before them: no crash, a
// JSON line for each note.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <string_view>

#include <nlohmann/json.hpp>

#include "console/reading/read_command.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall::reading;

using stonecall::test::require;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  ReadCommand command;
  command.format = static_cast<NoteFormat>(data[0] % 3);
  const std::size_t cut = std::min(bytes.find('\0'), bytes.size());
  const std::string_view notes = bytes.substr(std::min(cut + 1, bytes.size()));
  const auto plan = parse_planned_words(bytes.substr(0, cut));
  if (plan)
    command.plan = *plan;
  else
    require(!plan.error().what.empty());

  std::istringstream in{std::string(cut == bytes.size() ? bytes : notes)};
  std::ostringstream out;
  for (const auto& fault : read_notes(in, out, command)) require(!fault.what.empty());
  std::istringstream lines(out.str());
  for (std::string line; std::getline(lines, line);) {
    const auto json = nlohmann::json::parse(line, nullptr, false);
    require(json.is_object() && json.contains("id") && json.at("facts").is_array());
  }
  return 0;
}
