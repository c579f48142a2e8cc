#include "console/desk/settings.hpp"

#include <fstream>

#include <catch2/catch.hpp>

using namespace stonecall::desk;
namespace fs = std::filesystem;

namespace {

struct Folder {
  fs::path path =
      fs::temp_directory_path() /
      ("stonecall-settings-" + stonecall::protocol::to_string(stonecall::protocol::random_uuid()));
  Folder() { fs::create_directories(path); }
  ~Folder() { fs::remove_all(path); }
};

}  // namespace

TEST_CASE("the desk is found again as it was left") {
  Folder folder;
  Settings left{ThemeName::night,
                140,
                TimeMode::utc,
                1920,
                1080,
                {HeardFilter::Show::calls, "FIELD-2", "", "Ford"},
                true,
                true,
                true,
                "bag thirty one, half",
                "127.0.0.1:7700"};
  REQUIRE(save_settings(left, folder.path / "new" / "desk.json"));
  CHECK(load_settings(folder.path / "new" / "desk.json") == left);
}

TEST_CASE("a broken settings file is set aside and hinders nobody") {
  Folder folder;
  fs::path file = folder.path / "desk.json";
  std::ofstream(file) << "{ not json";
  CHECK(load_settings(file) == Settings{});
  CHECK_FALSE(fs::exists(file));
  CHECK(fs::exists(folder.path / "desk.json.broken"));
}

TEST_CASE("a single value out of range falls back alone") {
  Folder folder;
  fs::path file = folder.path / "desk.json";
  std::ofstream(file) << R"({"theme":"night","scale_percent":900,"width":"wide"})";
  Settings settings = load_settings(file);
  CHECK(settings.theme == ThemeName::night);
  CHECK(settings.scale_percent == 100);
  CHECK(settings.width == Settings{}.width);
}

TEST_CASE("a number that is too large for its place is not cut down to one that fits") {
  Folder folder;
  fs::path file = folder.path / "desk.json";
  // Each 2^32 more than one that would do, and one that no 64 bits hold with a sign.
  std::ofstream(file) << R"({"scale_percent":4294967416,"width":4294968576,"show":4294967297,
                             "accept_sure":4294967297,"height":18446744073709551615})";
  CHECK(load_settings(file) == Settings{});
}

TEST_CASE("no settings file is no fault") {
  CHECK(load_settings("/nonexistent/desk.json") == Settings{});
}
