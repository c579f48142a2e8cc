#include "console/commands/read_file.hpp"

#include <cerrno>
#include <cstring>
#include <iterator>

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

}  // namespace stonecall::commands
