#include "console/commands/write_file.hpp"

#include <filesystem>
#include <fstream>
#include <ostream>

namespace stonecall::commands {

bool write_file(const std::string& path, const std::string& text, std::ostream& err) {
  const std::string part = path + ".part";
  std::error_code error;
  {
    std::ofstream out(part, std::ios::binary | std::ios::trunc);
    out.write(text.data(), static_cast<std::streamsize>(text.size()));
    out.close();
    if (!out) error = std::make_error_code(std::errc::io_error);
  }
  if (!error) std::filesystem::rename(part, path, error);
  if (!error) return true;
  err << "stonecall: cannot write " << path << ": " << error.message() << '\n';
  std::error_code ignored;
  std::filesystem::remove(part, ignored);
  return false;
}

}  // namespace stonecall::commands
