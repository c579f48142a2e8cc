#pragma once

#include <cstddef>
#include <filesystem>

namespace stonecall::server {

/// What stands in a write-ahead log of SQLite's.
struct LogCheck {
  std::size_t commits = 0;  ///< transactions that SQLite reads
  /// Transactions behind a damaged page, or a damaged header, that it passes over without a word.
  /// After a power cut there may be some: what was being written, and was not acknowledged.
  std::size_t passed_over = 0;
};

/// Reads the whole log, by the description of its format (sqlite.org/fileformat2.html, 4.1 and
/// 4.2). No file, or one too short for a header, holds nothing. While nobody writes to it.
LogCheck check_log(const std::filesystem::path& log);

}  // namespace stonecall::server
