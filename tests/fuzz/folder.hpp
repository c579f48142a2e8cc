#pragma once

#include <cstdint>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <string_view>

namespace stonecall::test {

/// A folder of this process for what reads files by their name; emptied by each input.
inline const std::filesystem::path& fuzz_folder() {
  static const auto folder = [] {
    auto name = (std::filesystem::temp_directory_path() / "stonecall-fuzz-XXXXXX").string();
    if (!mkdtemp(name.data())) std::abort();
    std::atexit([] { std::filesystem::remove_all(fuzz_folder()); });
    return std::filesystem::path(name);
  }();
  return folder;
}

inline void empty_fuzz_folder() {
  for (const auto& each : std::filesystem::directory_iterator(fuzz_folder()))
    std::filesystem::remove_all(each);
}

inline void put(const std::filesystem::path& file, std::string_view bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

inline std::string text_in(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace stonecall::test
