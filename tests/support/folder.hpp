#pragma once

#include <filesystem>
#include <fstream>
#include <string>

#include <stdlib.h>

namespace stonecall::tests {

/// A folder of a test's own, removed with all that is in it.
class Folder {
 public:
  Folder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "stonecall-XXXXXX").string();
    path_ = ::mkdtemp(pattern.data());
  }
  ~Folder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  const std::filesystem::path& path() const { return path_; }

  /// Writes the file anew and answers its path.
  std::string write(const std::string& name, const std::string& bytes) const {
    std::ofstream(*this / name, std::ios::binary) << bytes;
    return (*this / name).string();
  }

 private:
  std::filesystem::path path_;
};

}  // namespace stonecall::tests
