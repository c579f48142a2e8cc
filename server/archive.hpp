#pragma once

#include <filesystem>
#include <string>

#include <tl/expected.hpp>

#include "server/store.hpp"

/// Copies of a store. All may run while a server writes to it, but import_log().
namespace stonecall::server {

/// How many events were copied; the error is a sentence saying what stands in the way.
using Copied = tl::expected<Sequence, std::string>;

/// Copies the store, as it stands now, to a new store `to` (SQLite's online backup); whole once
/// `to` is there.
Copied back_up(const std::filesystem::path& store, const std::filesystem::path& to);

/// Writes the events, as they stand now, to a new file `to` as JSON Lines.
Copied export_log(const std::filesystem::path& store, const std::filesystem::path& to);

/// Takes a log into the store, which is made if it is not there: `id`, `at`, `from` and `received`
/// stay as recorded (what has no `received` gets its `at`), so that an empty store then holds the
/// log again. What stands already is passed over. A log with a fault in it is not begun.
Copied import_log(const std::filesystem::path& log, const std::filesystem::path& store);

}  // namespace stonecall::server
