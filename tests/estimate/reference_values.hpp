#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace stonecall::estimate {

// Checks against figures from outside the project (tests/reference_values/README.md). Not shipped.

struct ReferenceReport {
  std::size_t cases = 0;
  std::vector<std::string> problems;  ///< each names file, case, quantity and source
};

/// Every *.json of a folder. No folder, no file, no case, a file that is not a list of cases and an
/// unknown quantity are problems like a wrong figure.
ReferenceReport check_reference_folder(const std::filesystem::path& folder);

/// One case; the text says what differs, empty when it holds.
std::string check_reference_case(const nlohmann::json& reference);

/// tests/reference_values, or what the environment variable STONECALL_REFERENCE_VALUES names.
std::filesystem::path reference_folder();

}  // namespace stonecall::estimate
