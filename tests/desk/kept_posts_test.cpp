#include "console/desk/kept_posts.hpp"

#include <csignal>
#include <fstream>
#include <memory>

#include <catch2/catch.hpp>
#include <sys/resource.h>
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
  for (const auto& left : kept.left()) events.push_back(*left.event);
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

std::vector<std::string> exercises_in(const KeptPosts& kept) {
  std::vector<std::string> exercises;
  for (const auto& left : kept.left()) exercises.push_back(left.exercise);
  return exercises;
}

constexpr const char* ridge = "Ridge, 2027-05-18T08:30:00+02:00";

TEST_CASE("posts for one server are not found at another, which says where they wait") {
  const Folder folder;
  const auto here = kept_file(folder / "state", {"127.0.0.1", 7700});
  const auto there = kept_file(folder / "state", {"Ridge.example", 7700, true});
  CHECK(here == folder / "state" / "unsent" / "127.0.0.1_7700.jsonl");
  CHECK(here != there);
  CHECK(there == kept_file(folder / "state", {"ridge.example", 7700}));
  CHECK(kept_file({}, {"127.0.0.1", 7700}).empty());
  {
    KeptPosts kept(there, "ridge.example:7700");
    kept.add(said(1));
    kept.add(said(2), ridge);
    kept.add(said(3), ridge);
    // That desk is there, and sends them itself.
    CHECK(kept_elsewhere(here).empty());
  }
  {
    KeptPosts kept(here, "127.0.0.1:7700");
    CHECK(kept.left().empty());
    kept.add(said(4));
    CHECK(kept_elsewhere(here) ==
          std::vector<KeptElsewhere>{{{"ridge.example:7700", ""}, 1, there},
                                     {{"ridge.example:7700", ridge}, 2, there}});
    kept.clear();
  }
  KeptPosts kept(there, "ridge.example:7700");
  CHECK(left_in(kept) == std::vector{said(1), said(2), said(3)});
  CHECK(exercises_in(kept) == std::vector<std::string>{"", ridge, ridge});
}

TEST_CASE("what was kept before each server had its own file is taken up, all of it") {
  const Folder folder;
  const auto before = folder / "unsent.jsonl";
  const auto file = kept_file(folder.path(), {"127.0.0.1", 7700});
  std::ofstream(before) << protocol::to_line(said(1)) << '\n';
  std::ofstream(before.string() + ".2") << protocol::to_line(said(2)) << '\n';
  {
    KeptPosts kept(file, "127.0.0.1:7700");
    kept.add(said(3), ridge);
  }
  {
    KeptPosts kept(file, "127.0.0.1:7700", before);
    CHECK(left_in(kept) == std::vector{said(3), said(1), said(2)});
    CHECK(exercises_in(kept) == std::vector<std::string>{ridge, "", ""});
  }
  CHECK_FALSE(std::filesystem::exists(before));
  CHECK_FALSE(std::filesystem::exists(before.string() + ".2"));
  // The desk was killed before they went out.
  KeptPosts kept(file, "127.0.0.1:7700", before);
  CHECK(left_in(kept) == std::vector{said(3), said(1), said(2)});
  CHECK(exercises_in(kept) == std::vector<std::string>{ridge, "", ""});
}

TEST_CASE("what is set aside for another exercise is left by no clearing") {
  const Folder folder;
  const auto file = folder / "127.0.0.1_7700.jsonl";
  {
    KeptPosts kept(file, "127.0.0.1:7700");
    kept.add(said(1));
    kept.add(said(2), ridge);
    const KeptPosts::Left two{std::make_shared<const Event>(said(2)), ridge};
    CHECK(kept.set_aside({two}));
    kept.clear();
  }
  CHECK_FALSE(std::filesystem::exists(file));
  {
    KeptPosts kept(file, "127.0.0.1:7700");
    CHECK(left_in(kept) == std::vector{said(2)});
    CHECK(exercises_in(kept) == std::vector<std::string>{ridge});
  }
  CHECK_FALSE(std::filesystem::exists(kept_aside(file)));
  KeptPosts nowhere(std::filesystem::path{});
  CHECK_FALSE(nowhere.set_aside({{std::make_shared<const Event>(said(1)), ridge}}));
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
    CHECK(kept.fault().empty() == file.empty());  // no file was asked for
  }
}

TEST_CASE("what no longer fits is told of, and costs nothing of what comes when there is room") {
  const Folder folder;
  const auto file = folder / "unsent.jsonl";
  if (const pid_t desk = ::fork(); desk == 0) {
    KeptPosts kept(file);
    kept.add(said(1));
    const bool fitted = kept.fault().empty();
    std::signal(SIGXFSZ, SIG_IGN);
    rlimit room{};
    ::getrlimit(RLIMIT_FSIZE, &room);
    const rlimit full{std::filesystem::file_size(file) + 20, room.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &full);
    kept.add(said(2));
    const bool told = kept.fault().find(file.string()) != std::string::npos;
    ::setrlimit(RLIMIT_FSIZE, &room);
    kept.add(said(3));
    const bool still_told = !kept.fault().empty();  // the second is not there
    if (fitted && told && still_told) ::raise(SIGKILL);
    ::_exit(1);
  } else {
    int ended = 0;
    ::waitpid(desk, &ended, 0);
    CHECK(WIFSIGNALED(ended));
  }
  KeptPosts next(file);
  CHECK(left_in(next) == std::vector{said(1), said(3)});
  next.clear();
  CHECK(next.fault().empty());
}

}  // namespace
}  // namespace stonecall::desk
