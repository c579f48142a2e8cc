#include "console/commands/write_file.hpp"

#include <cerrno>
#include <filesystem>
#include <fstream>
#include <ostream>
#include <system_error>

namespace stonecall::commands {
namespace {

namespace fs = std::filesystem;

std::error_code write_whole(const fs::path& path, const std::string& text) {
  errno = 0;
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out.write(text.data(), static_cast<std::streamsize>(text.size()));
  out.close();
  if (out) return {};
  return errno != 0 ? std::error_code(errno, std::generic_category())
                    : std::make_error_code(std::errc::io_error);
}

/// Also where neither is there yet, or one is a link to the other.
bool same_file(const std::string& a, const std::string& b) {
  std::error_code error;
  if (fs::equivalent(a, b, error) && !error) return true;
  const fs::path first = fs::weakly_canonical(fs::absolute(a, error), error);
  const fs::path second = fs::weakly_canonical(fs::absolute(b, error), error);
  return !first.empty() && first == second;
}

/// What is written to it stays, and goes over what was there: not so at a device or a pipe.
bool keeps(const std::string& path) {
  std::error_code ignored;
  const fs::file_status status = fs::status(path, ignored);
  return !fs::exists(status) || fs::is_regular_file(status);
}

}  // namespace

bool write_file(const std::string& path, const std::string& text, std::ostream& err) {
  std::error_code error, ignored;
  if (fs::is_directory(path, ignored)) {
    error = std::make_error_code(std::errc::is_a_directory);
  } else if (!keeps(path)) {
    error = write_whole(path, text);
  } else {
    fs::path place = fs::is_symlink(path, ignored) ? fs::canonical(path, ignored) : fs::path(path);
    if (place.empty()) place = path;  // a link that leads nowhere
    const fs::path part = place.string() + ".part";
    error = write_whole(part, text);
    if (!error) fs::rename(part, place, error);
    if (error) fs::remove(part, ignored);
  }
  if (!error) return true;
  err << "stonecall: cannot write " << path << ": " << error.message() << '\n';
  return false;
}

bool spares(const std::vector<std::string>& written, const std::vector<std::string>& read,
            std::ostream& err) {
  const auto refuse = [&](const std::string& path, const char* why) {
    err << "stonecall: " << path << why << "; give another name to write to\n";
    return false;
  };
  for (std::size_t i = 0; i < written.size(); ++i) {
    if (written[i].empty() || !keeps(written[i])) continue;
    for (const std::string& each : read)
      if (!each.empty() && same_file(written[i], each))
        return refuse(written[i], " is read here, and would be written over");
    for (std::size_t j = 0; j < i; ++j)
      if (!written[j].empty() && same_file(written[i], written[j]))
        return refuse(written[i], " is to be written twice");
  }
  return true;
}

}  // namespace stonecall::commands
