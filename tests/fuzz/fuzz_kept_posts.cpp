// Any bytes as the files of posts that desks left behind, of one desk and of a second: no crash;
// what can be read of them is kept on, also beside what is added, until all is acknowledged.
#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "console/desk/kept_posts.hpp"
#include "protocol/log.hpp"
#include "tests/fuzz/folder.hpp"
#include "tests/fuzz/require.hpp"

using namespace stonecall;
using test::require;

namespace {

std::vector<std::string> lines(const std::vector<protocol::EventPtr>& events) {
  std::vector<std::string> all;
  for (const auto& event : events) all.push_back(protocol::to_line(*event));
  return all;
}

std::vector<std::string> lines(const std::vector<desk::KeptPosts::Left>& posts) {
  std::vector<std::string> all;
  for (const auto& post : posts) all.push_back(protocol::to_line(*post.event));
  return all;
}

std::vector<std::string> readable(std::string_view bytes) {
  std::istringstream in{std::string(bytes)};
  return lines(protocol::read_log(in).events);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  const auto first = bytes.substr(0, bytes.size() * data[0] / 255);
  const auto second = bytes.substr(first.size());
  test::empty_fuzz_folder();
  const auto file = test::fuzz_folder() / "kept.jsonl";
  test::put(file, first);
  test::put(file.string() + ".2", second);

  auto expected = readable(first);
  for (auto& each : readable(second)) expected.push_back(std::move(each));
  protocol::Event added;
  added.from = "BASE";
  added.body = protocol::Remark{"kept", {}, false};
  {
    desk::KeptPosts kept(file);
    require(lines(kept.left()) == expected);
    require(!std::filesystem::exists(file.string() + ".2"));
    // Told apart from all that may stand there already.
    const auto taken = [&] {
      return std::ranges::any_of(kept.left(),
                                 [&](const auto& post) { return post.event->id == added.id; });
    };
    while (taken()) ++added.id.data[15];
    kept.add(added);
    kept.sync();
  }
  expected.push_back(protocol::to_line(added));
  {
    desk::KeptPosts kept(file);
    auto found = lines(kept.left());
    // One event twice in two files is one in one file.
    std::ranges::sort(found);
    std::ranges::sort(expected);
    expected.erase(std::unique(expected.begin(), expected.end()), expected.end());
    found.erase(std::unique(found.begin(), found.end()), found.end());
    require(found == expected);
    kept.clear();
  }
  require(!std::filesystem::exists(file));
  return 0;
}
