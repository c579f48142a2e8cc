#include "console/desk/kept_posts.hpp"

#include <csignal>
#include <fstream>
#include <memory>

#include <catch2/catch.hpp>
#include <sys/wait.h>
#include <unistd.h>

#include "protocol/log.hpp"
#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

namespace stonecall::desk {
namespace {

using protocol::Event;
using stonecall::tests::Folder;

Event said(std::uint32_t n) {
  return test::event(n, n, protocol::VoiceNote{"note " + std::to_string(n), {}, {}});
}

std::vector<Event> left_in(const KeptPosts& kept) {
  std::vector<Event> events;
  for (const auto& event : kept.left()) events.push_back(*event);
  return events;
}

TEST_CASE("posts outlive a desk that is killed, and go once they are acknowledged") {
  const Folder folder;
  const auto file = folder / "unsent.jsonl";
  if (const pid_t desk = ::fork(); desk == 0) {
    KeptPosts kept(file);
    kept.add(said(1));
    kept.add(said(2));
    ::raise(SIGKILL);
  } else {
    ::waitpid(desk, nullptr, 0);
  }
  {
    KeptPosts kept(file);
    CHECK(left_in(kept) == std::vector{said(1), said(2)});
  }
  {
    KeptPosts kept(file);
    CHECK(left_in(kept).size() == 2);
    kept.add(said(3));
    kept.clear();
    kept.add(said(4));
  }
  {
    KeptPosts kept(file);
    CHECK(left_in(kept) == std::vector{said(4)});
    kept.clear();
  }
  CHECK_FALSE(std::filesystem::exists(file));
}

TEST_CASE("two desks at one machine do not mix up what they keep, and the next finds all of it") {
  const Folder folder;
  const auto file = folder / "unsent.jsonl";
  {
    KeptPosts one(file), two(file);
    one.add(said(1));
    two.add(said(2));
    one.clear();
    CHECK(two.left().empty());
    one.add(said(3));
  }
  KeptPosts kept(file);
  CHECK(left_in(kept) == std::vector{said(3), said(2)});
  kept.sync();
  CHECK(protocol::read_log_file(file.string())->events.size() == 2);
  CHECK_FALSE(std::filesystem::exists(file.string() + ".2"));
}

TEST_CASE("half a line, or a line of anything else, costs no other post") {
  const Folder folder;
  const auto file = folder / "unsent.jsonl";
  const std::string whole = protocol::to_line(said(1));
  std::ofstream(file) << whole << '\n' << "not an event\n" << whole.substr(0, 40);
  {
    KeptPosts kept(file);
    CHECK(left_in(kept) == std::vector{said(1)});
    kept.add(said(2));
  }
  KeptPosts kept(file);
  CHECK(left_in(kept) == std::vector{said(1), said(2)});
}

TEST_CASE("where nothing can be kept the desk goes on without") {
  const Folder folder;
  std::ofstream(folder / "file") << "no folder";
  for (const std::filesystem::path& file :
       {std::filesystem::path(), folder / "file" / "unsent.jsonl"}) {
    KeptPosts kept(file);
    kept.add(said(1));
    kept.sync();
    kept.clear();
    CHECK(kept.left().empty());
  }
}

}  // namespace
}  // namespace stonecall::desk
