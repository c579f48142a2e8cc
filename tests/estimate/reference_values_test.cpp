#include "tests/estimate/reference_values.hpp"

#include <cstdlib>
#include <fstream>

#include <catch2/catch.hpp>

namespace stonecall::estimate {
namespace {

namespace fs = std::filesystem;

// A folder of its own for a test, gone afterwards.
class Folder {
 public:
  Folder() {
    auto name = (fs::temp_directory_path() / "stonecall-reference-XXXXXX").string();
    path_ = mkdtemp(name.data());
  }
  ~Folder() { fs::remove_all(path_); }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  const fs::path& path() const { return path_; }
  void write(const std::string& name, const std::string& text) const {
    std::ofstream(path_ / name) << text;
  }

 private:
  fs::path path_;
};

nlohmann::json seven_of_ten() {
  return {{"id", "seven-of-ten"},
          {"quantity", "wilson_interval"},
          {"input", {{"k", 7}, {"n", 10}, {"confidence", 0.95}}},
          // Agresti & Coull 1998 give 0.397 to 0.892 for 7 of 10 (from memory).
          {"expected", {{"lower", 0.397}, {"upper", 0.892}}},
          {"tolerance", 0.001},
          {"source", "a handbook"}};
}

}  // namespace

TEST_CASE("Every figure agrees with its source outside the project") {
  const auto report = check_reference_folder(reference_folder());
  INFO(reference_folder());
  for (const auto& problem : report.problems) FAIL_CHECK(problem);
  CHECK(report.cases > 0);
}

TEST_CASE("A reference case within its tolerance holds") {
  CHECK(check_reference_case(seven_of_ten()).empty());
}

TEST_CASE("A reference case beyond its tolerance says what differs") {
  auto reference = seven_of_ten();
  reference["expected"]["upper"] = 0.95;
  CHECK_THAT(check_reference_case(reference), Catch::StartsWith("expected.upper: ours 0.89"));
}

TEST_CASE("A tolerance per figure leaves the figures it does not name exact") {
  auto reference = seven_of_ten();
  reference["tolerance"] = {{"lower", 0.001}};
  CHECK_THAT(check_reference_case(reference), Catch::StartsWith("expected.upper"));
}

TEST_CASE("A relative tolerance scales with the expected figure") {
  auto reference = seven_of_ten();
  reference["tolerance"] = 0.0015;
  CHECK(check_reference_case(reference).empty());
  reference["tolerance_kind"] = "relative";
  reference["tolerance"] = 0.0001;
  CHECK_FALSE(check_reference_case(reference).empty());
}

TEST_CASE("A figure that the source leaves open may be words but not missing") {
  auto reference = seven_of_ten();
  reference["expected"]["lower"] = nullptr;
  CHECK(check_reference_case(reference).empty());
  reference["expected"]["middle"] = nullptr;
  CHECK_THAT(check_reference_case(reference), Catch::Contains("middle: we do not answer"));
}

TEST_CASE("An unknown quantity fails and names its source") {
  const Folder folder;
  auto reference = seven_of_ten();
  reference["quantity"] = "moon_phase";
  folder.write("a.json", nlohmann::json::array({reference}).dump());
  const auto report = check_reference_folder(folder.path());
  REQUIRE(report.problems.size() == 1);
  CHECK(report.problems.front() ==
        "a.json, seven-of-ten, moon_phase: unknown quantity; source: a handbook");
}

TEST_CASE("A folder without reference values fails") {
  const Folder folder;
  folder.write("README.md", "nothing here");
  CHECK(check_reference_folder(folder.path()).problems.size() == 1);
  CHECK(check_reference_folder(folder.path() / "missing").problems.size() == 1);
}

TEST_CASE("A reference file that is broken or empty fails") {
  const Folder folder;
  folder.write("broken.json", "[{");
  folder.write("empty.json", "[]");
  folder.write("odd.json", "[5]");
  CHECK(check_reference_folder(folder.path()).problems.size() == 3);
}

}  // namespace stonecall::estimate
