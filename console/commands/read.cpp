#include "console/commands/read.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <iterator>
#include <ostream>

#include "console/reading/read_command.hpp"
#include "protocol/captions.hpp"

namespace stonecall::commands {

int read(const ReadOptions& options, std::ostream& out, std::ostream& err) {
  const auto open = [&](std::ifstream& in, const std::string& path) {
    in.open(path, std::ios::binary);
    // A folder opens, and cannot be read.
    if (in && (in.peek(), !in.bad())) {
      in.clear();
      return true;
    }
    err << "stonecall: cannot read " << path << ": " << std::strerror(errno) << '\n';
    return false;
  };

  reading::ReadCommand command{reading::note_format(options.notes), options.base, {}};
  if (!options.plan.empty()) {
    std::ifstream in;
    if (!open(in, options.plan)) return 2;
    auto plan = reading::parse_planned_words(std::string{std::istreambuf_iterator<char>(in), {}});
    if (!plan) {
      err << "stonecall: " << options.plan << ": " << protocol::to_string(plan.error()) << '\n';
      return 2;
    }
    command.plan = std::move(*plan);
  }
  std::ifstream in;
  if (!open(in, options.notes)) return 2;
  const auto faults = reading::read_notes(in, out, command);
  for (const auto& fault : faults)
    err << options.notes << ": " << protocol::to_string(fault) << '\n';
  return std::all_of(faults.begin(), faults.end(), protocol::is_remark) ? 0 : 1;
}

}  // namespace stonecall::commands
