#include "console/commands/read.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "console/commands/read_file.hpp"
#include "protocol/log.hpp"
#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

using stonecall::commands::ReadOptions;
using stonecall::tests::Folder;
using Json = nlohmann::ordered_json;

namespace {

struct Result {
  int exit_code = 0;
  std::vector<Json> lines;
  std::string err;
};

Result read(const ReadOptions& options) {
  std::ostringstream out, err;
  Result result;
  result.exit_code = stonecall::commands::read(options, out, err);
  std::istringstream lines(out.str());
  for (std::string line; std::getline(lines, line);) result.lines.push_back(Json::parse(line));
  result.err = err.str();
  return result;
}

bool states(const Json& line, const std::string& field, const Json& value) {
  for (const Json& fact : line.at("facts")) {
    if (fact.at("field") == field && fact.at("value") == value) return true;
  }
  return false;
}

const std::string plan =
    R"({"name":"Fen Edge","base":{"station":"HUT"},
        "vocabulary":[{"rock":"chert","spoken":["candle stone"]}],
        "stations":[{"station":"Otter Bank"}]})";
const std::string note = R"({"id":"n1","from":"FERN","text":"some candle stone here"})"
                         "\n";

}  // namespace

TEST_CASE("a file of notes gives a line for each with the members that the label form names") {
  const Folder folder;
  const Result result = read({folder.write("notes.jsonl", note), folder.write("plan.json", plan)});
  CHECK(result.exit_code == 0);
  CHECK(result.err.empty());
  REQUIRE(result.lines.size() == 1);
  CHECK(result.lines[0].at("id") == "n1");
  REQUIRE(result.lines[0].at("facts").size() == 1);
  const Json& fact = result.lines[0]["facts"][0];
  CHECK(fact.at("field") == "rock");
  CHECK(fact.at("value") == "chert");
  CHECK(fact.at("begin") == 5);
  CHECK(fact.at("end") == 17);
  CHECK(fact.at("sure").get<double>() > 0.5);
}

TEST_CASE("the words of a plan come from a plan, a plan event, a plan line or a log") {
  const Folder folder;
  const std::string event = R"({"kind":"plan","id":"x","plan":)" + Json::parse(plan).dump() + "}\n";
  Json line = Json::parse(plan);
  line["kind"] = "plan";
  line["base"] = "HUT";
  const std::string notes = folder.write(
      "notes.jsonl", note + R"({"id":"n2","from":"HUT","text":"no candle stone here"})");
  for (const std::string& given :
       {plan, event, line.dump(), event + "{\"kind\":\"remark\",\"text\":\"Ready.\"}\n"}) {
    CAPTURE(given);
    const Result result = read({notes, folder.write("plan", given)});
    REQUIRE(result.lines.size() == 2);
    CHECK(states(result.lines[0], "rock", "chert"));
    CHECK(result.lines[1].at("facts").empty());
  }
}

TEST_CASE("a plan on the command line goes before a plan line among the notes") {
  const Folder folder;
  const std::string other =
      R"({"kind":"plan","vocabulary":[{"rock":"slate","spoken":["candle stone"]}],"stations":[]})"
      "\n";
  const std::string notes = folder.write("notes.jsonl", other + note);
  CHECK(states(read({notes, folder.write("plan.json", plan)}).lines.at(0), "rock", "chert"));
  CHECK(states(read({notes, ""}).lines.at(0), "rock", "slate"));
}

TEST_CASE("captions are told by the end of the file's name") {
  const Folder folder;
  const std::string vtt =
      folder.write("loop.VTT", "WEBVTT\n\n00:01.000 --> 00:02.000\n<v FERN>no flint so far\n");
  const std::string srt =
      folder.write("loop.srt", "1\n00:00:01,000 --> 00:00:02,000\nFERN: no flint so far\n");
  const std::string words = folder.write(
      "plan.json", R"({"vocabulary":[{"rock":"chert","spoken":["flint"]}],"stations":[]})");
  CHECK(states(read({vtt, words}).lines.at(0), "absent", "chert"));
  CHECK(states(read({srt, words}).lines.at(0), "absent", "chert"));
}

TEST_CASE("what was skipped is named by file and line, and the exit code says so") {
  const Folder folder;
  const std::string notes = folder.write("notes.jsonl", "{\n" + note);
  const Result result = read({notes, folder.write("plan.json", plan)});
  CHECK(result.exit_code == 1);
  CHECK(result.err.find(notes + ": line 1: ") == 0);
  CHECK(result.lines.size() == 1);
}

TEST_CASE("a file that cannot be read, and one that is no plan, are named") {
  const Folder folder;
  const std::string notes = folder.write("notes.jsonl", note);
  const auto refused = [](const ReadOptions& options, const std::string& named) {
    const Result result = read(options);
    CHECK(result.exit_code == 2);
    CHECK(result.lines.empty());
    CHECK(result.err.find(named) != std::string::npos);
  };
  refused({(folder / "none.jsonl").string(), ""}, "none.jsonl: No such file");
  refused({folder.path().string(), ""}, "Is a directory");
  refused({notes, (folder / "none.json").string()}, "none.json: No such file");
  refused({notes, folder.write("bad.json", "{")}, "bad.json: not JSON");
  refused({notes, folder.write("other.json", "{\"name\":\"Fen\"}")}, "other.json: no plan");
}

TEST_CASE("of what earlier runs kept the valid counts, and what is wrong is told by line") {
  namespace protocol = stonecall::protocol;
  const Folder folder;
  const auto file = (folder / "log.jsonl.remarks").string();
  std::ostringstream err;
  CHECK(stonecall::commands::kept_events(file, err).empty());
  CHECK(err.str().empty());  // it need not be there yet

  const auto remark = [](std::uint32_t n) {
    return protocol::to_line(
        *stonecall::test::shared(n, n, protocol::Remark{"look again", std::nullopt, true}, "DESK"));
  };
  std::ofstream(file) << remark(1) << "\nnot an event\n"
                      << remark(2) << "\n"
                      << R"({"id":"6f0)";
  const auto kept = stonecall::commands::kept_events(file, err);
  REQUIRE(kept.size() == 2);
  CHECK(kept[1]->id == stonecall::test::id(2));
  CAPTURE(err.str());
  CHECK(err.str().find(file) != std::string::npos);
  CHECK(err.str().find("line 2") != std::string::npos);
  CHECK(err.str().find("line 4") != std::string::npos);
  CHECK(std::ranges::count(err.str(), '\n') == 2);

  err.str("");
  CHECK(stonecall::commands::kept_events(folder.path().string(), err).empty());
  CHECK(err.str().find("cannot read") != std::string::npos);
}
