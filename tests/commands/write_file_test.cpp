#include "console/commands/write_file.hpp"

#include <fstream>
#include <iterator>
#include <sstream>

#include <catch2/catch.hpp>
#include <sys/stat.h>

#include "console/commands/assemble.hpp"
#include "console/commands/debrief.hpp"
#include "console/commands/score.hpp"
#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

using namespace stonecall;
using Catch::Matchers::Contains;
using tests::Folder;

namespace {

std::string text_in(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string a_log() {
  const auto plan = test::event(1, 0, protocol::PlanGiven{test::small_plan()}, "PLAN");
  const auto arrival = test::event(2, 5, protocol::Arrival{"Ford"}, "WREN");
  return protocol::to_line(plan) + '\n' + protocol::to_line(arrival) + '\n';
}

}  // namespace

TEST_CASE("no subcommand writes over what it reads, by whatever name it is called") {
  const Folder folder;
  const std::string log = folder.write("season.jsonl", a_log());
  std::filesystem::create_symlink(log, folder / "link");
  std::filesystem::create_hard_link(log, folder / "second");
  std::ostringstream out, err;

  for (const std::string name : {"season.jsonl", "./season.jsonl", "link", "second"}) {
    const std::string same = (folder / name).string();
    commands::DebriefFiles report{log, same, {}, {}, {}};
    CHECK(commands::debrief(report, err) == 2);
    commands::DebriefFiles table{log, (folder / "report.html").string(), same, {}, {}};
    CHECK(commands::debrief(table, err) == 2);
    commands::DebriefFiles places{log, {}, {}, same, {}};
    CHECK(commands::debrief(places, err) == 2);
    CHECK(text_in(log) == a_log());
    CHECK_THAT(err.str(), Contains(same + " is read here"));
  }
  CHECK_FALSE(std::filesystem::exists(folder / "report.html"));  // asked before anything is written

  commands::ScoreFiles files;
  files.log = files.record = log;
  files.adviser = "WREN";
  files.sheet = log;
  CHECK(commands::score(files, out, err) == 2);
  CHECK(text_in(log) == a_log());

  const std::string captions = "WEBVTT\n\nNOTE start: 2027-05-18T09:00:00+02:00\n\n";
  commands::AssembleOptions assembled;
  assembled.captions = {folder.write("day1.vtt", captions)};
  assembled.log = assembled.captions.front();
  CHECK(commands::assemble(assembled, out, err) == 2);
  CHECK(text_in(assembled.captions.front()) == captions);
  assembled.log = assembled.unmatched = (folder / "new.jsonl").string();
  CHECK(commands::assemble(assembled, out, err) == 2);
  CHECK_THAT(err.str(), Contains("new.jsonl is to be written twice"));
  CHECK_FALSE(std::filesystem::exists(folder / "new.jsonl"));
}

TEST_CASE("a file is written whole, through a link to where it leads, and a pipe stays a pipe") {
  const Folder folder;
  std::ostringstream err;
  const std::string real = folder.write("real", "before");
  std::filesystem::create_symlink(real, folder / "link");
  CHECK(commands::write_file((folder / "link").string(), "after", err));
  CHECK(text_in(real) == "after");
  CHECK(std::filesystem::is_symlink(folder / "link"));

  const std::string pipe = (folder / "pipe").string();
  REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);
  std::fstream reader(pipe, std::ios::in | std::ios::out);  // so that writing needs not wait
  CHECK(commands::write_file(pipe, "through\n", err));
  REQUIRE(std::filesystem::is_fifo(pipe));
  std::string line;
  std::getline(reader, line);
  CHECK(line == "through");

  CHECK(err.str().empty());
  CHECK_FALSE(commands::write_file(folder.path().string(), "x", err));
  CHECK_THAT(err.str(), Contains("Is a directory"));
  CHECK_FALSE(commands::write_file((folder / "none" / "x").string(), "x", err));
  CHECK_THAT(err.str(), Contains("No such file or directory"));
}
