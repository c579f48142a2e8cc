// Any bytes as the file of a desk's settings: no crash, all within its limits, and what was read is
// read again as it is kept; a file that is none is set aside whole.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "console/desk/settings.hpp"
#include "tests/fuzz/folder.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  test::empty_fuzz_folder();
  const auto file = test::fuzz_folder() / "desk.json";
  test::put(file, bytes);
  const auto settings = desk::load_settings(file);
  require(settings.scale_percent >= 80 && settings.scale_percent <= 200);
  require(settings.width >= 640 && settings.width <= 16384);
  require(settings.height >= 400 && settings.height <= 16384);
  require(static_cast<int>(settings.filter.show) >= 0 &&
          static_cast<int>(settings.filter.show) < desk::HeardFilter::kinds);
  if (!std::filesystem::exists(file)) {
    require(settings == desk::Settings{});
    require(test::text_in(file.string() + ".broken") == bytes);
  }
  require(desk::save_settings(settings, file).has_value());
  require(desk::load_settings(file) == settings);
  return 0;
}
