// Any text as counts: an answer in finite numbers, or a fault that says something.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "console/commands/estimate.hpp"
#include "console/estimate/calculator.hpp"
#include "tests/fuzz/finite.hpp"

using namespace stonecall;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto request = commands::calculator_request({reinterpret_cast<const char*>(data), size});
  if (!request) {
    if (request.error().what.empty()) std::abort();
    return 0;
  }
  const auto answer = estimate::calculate(*request);
  if (answer ? !test::finite(*answer) : answer.error().what.empty()) std::abort();
  return 0;
}
