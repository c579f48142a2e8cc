#include "console/reading/read_command.hpp"

#include <sstream>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

using namespace stonecall::reading;
using Json = nlohmann::ordered_json;

namespace {

const std::string plan =
    R"({"kind":"plan","name":"Ford","base":"HUT","vocabulary":[{"rock":"granite","spoken":["pink stuff"]}],"stations":[{"station":"Heron Ford","spoken":[]}]})"
    "\n";

struct Result {
  std::vector<Json> lines;
  std::vector<stonecall::protocol::Fault> faults;
};

Result run(const std::string& input, NoteFormat format = NoteFormat::json_lines) {
  std::istringstream in(input);
  std::ostringstream out;
  Result result{{}, read_notes(in, out, {format, "BASE", {}})};
  std::istringstream lines(out.str());
  for (std::string line; std::getline(lines, line);) result.lines.push_back(Json::parse(line));
  return result;
}

bool states(const Json& line, const std::string& field, const Json& value) {
  for (const Json& fact : line["facts"]) {
    if (fact["field"] == field && fact["value"] == value) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("each note gives one line with its id and facts") {
  const Result result =
      run(plan + R"({"id":"a1","from":"ANN","text":"some pink stuff here"})" + "\n");
  REQUIRE(result.faults.empty());
  REQUIRE(result.lines.size() == 1);
  REQUIRE(result.lines[0]["id"] == "a1");
  REQUIRE(states(result.lines[0], "rock", "granite"));
}

TEST_CASE("what base says is no fact") {
  const Result result = run(plan + R"({"id":"a1","from":"HUT","text":"no granite so far"})" + "\n");
  REQUIRE(result.lines.at(0)["facts"].empty());
}

TEST_CASE("without a plan line the built-in kinds are read") {
  REQUIRE(states(run(R"({"id":"a1","from":"ANN","text":"a piece of andesite"})").lines.at(0),
                 "rock", "andesite"));
}

TEST_CASE("bad lines are named and skipped, and the notes after them stand") {
  const Result result =
      run(plan + "{broken\n[1]\n{\"id\":\"x\"}\n\n{\"id\":\"y\",\"text\":\"caf\xE9\"}\n" +
          R"({"id":"a1","from":"ANN","text":"no granite"})" + "\r\n");
  std::vector<std::size_t> lines;
  for (const auto& fault : result.faults) lines.push_back(fault.line.value());
  REQUIRE(lines == std::vector<std::size_t>{2, 3, 4, 6});
  REQUIRE(result.lines.size() == 1);
  REQUIRE(states(result.lines[0], "absent", "granite"));
}

TEST_CASE("a recorded log can be read: voice notes are notes, other events are passed over") {
  const Result result = run(
      R"({"kind":"plan","plan":{"base":{"station":"HUT"},"vocabulary":[{"rock":"granite"}],"stations":[]}})"
      "\n"
      R"({"kind":"tally","id":"t1"})"
      "\n"
      R"({"kind":"voice_note","id":"v1","from":"ANN","text":"no granite"})"
      "\n");
  REQUIRE(result.faults.empty());
  REQUIRE(result.lines.size() == 1);
  REQUIRE(states(result.lines[0], "absent", "granite"));
}

TEST_CASE("captions are notes, and their speakers count") {
  const Result vtt =
      run("WEBVTT\n\nc1\n00:01.000 --> 00:02.000\n<v ANN>no granite\n\n00:03.000 --> 00:04.000\n<v "
          "BASE>no granite\n\n00:09.000 --> 00:05.000\n<v ANN>late\n",
          NoteFormat::web_vtt);
  REQUIRE(vtt.lines.size() == 2);
  REQUIRE(vtt.lines[0]["id"] == "c1");
  REQUIRE(states(vtt.lines[0], "absent", "granite"));
  REQUIRE(vtt.lines[1]["facts"].empty());
  REQUIRE(vtt.faults.at(0).line == 10);
  REQUIRE(run("1\n00:00:01,000 --> 00:00:02,000\nANN: no granite\n", NoteFormat::sub_rip)
              .lines.size() == 1);
}

TEST_CASE("the format follows from the end of the file's name") {
  REQUIRE(note_format("loop.vtt") == NoteFormat::web_vtt);
  REQUIRE(note_format("loop.srt") == NoteFormat::sub_rip);
  REQUIRE(note_format("loop.jsonl") == NoteFormat::json_lines);
}
