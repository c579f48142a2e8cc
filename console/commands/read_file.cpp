#include "console/commands/read_file.hpp"

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <iterator>
#include <ostream>
#include <system_error>

#include "protocol/log.hpp"

namespace stonecall::commands {

protocol::Result<std::ifstream> open_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  // A folder opens, and cannot be read.
  if (!in || (in.peek(), in.bad()))
    return tl::unexpected(
        protocol::Fault{"", "cannot read " + path + ": " + std::strerror(errno), {}});
  in.clear();  // an empty file is one
  return in;
}

protocol::Result<std::string> read_file(const std::string& path) {
  return open_file(path).map(
      [](std::ifstream in) { return std::string(std::istreambuf_iterator<char>(in), {}); });
}

std::vector<protocol::EventPtr> kept_events(const std::string& path, std::ostream& err) {
  std::error_code ignored;
  if (!std::filesystem::exists(path, ignored) && !ignored) return {};
  auto kept = open_file(path).map([](std::ifstream in) { return protocol::read_log(in); });
  if (!kept) {
    err << "stonecall: " << protocol::to_string(kept.error()) << '\n';
    return {};
  }
  for (const protocol::Fault& fault : kept->faults)
    err << "stonecall: " << path << ": " << protocol::to_string(fault) << '\n';
  return std::move(kept->events);
}

}  // namespace stonecall::commands
