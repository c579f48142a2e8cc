#include "protocol/append.hpp"

#include <cerrno>
#include <cstring>
#include <fstream>

namespace stonecall::protocol {

std::string append_lines(const std::filesystem::path& file, std::string_view lines) {
  std::ifstream before(file, std::ios::binary | std::ios::ate);
  const bool half =
      before && before.tellg() > 0 && before.seekg(-1, std::ios::end) && before.get() != '\n';
  std::ofstream out(file, std::ios::app | std::ios::binary);
  if (out) out << (half ? "\n" : "") << lines << std::flush;
  return out ? "" : "cannot write " + file.string() + ": " + std::strerror(errno);
}

}  // namespace stonecall::protocol
