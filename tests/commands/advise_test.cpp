#include "console/commands/advise.hpp"

#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

using namespace stonecall;
using namespace std::chrono_literals;
using protocol::Json;

namespace {

Json advised(const std::string& log, std::optional<protocol::Milliseconds> at) {
  std::ostringstream out, err;
  REQUIRE(commands::advise(std::string(REPLAY_LOGS) + "/" + log, at, out, err) == 0);
  CHECK(err.str().empty());
  return Json::parse(out.str());
}

}  // namespace

TEST_CASE("a recorded log is assessed as known at the time asked for") {
  for (const char* log : {"varrow_rim.jsonl", "ravnhol.jsonl"}) {
    CAPTURE(log);
    const auto early = advised(log, 20min), late = advised(log, 100min);
    CHECK(early["at"] == "0:20:00");
    CHECK(early["events"] < late["events"]);
    CHECK(early["bagged"] < late["bagged"]);
    double sum = late["whole_exercise"]["other"]["mean"];
    for (const auto& kind : late["whole_exercise"]["kinds"])
      if (kind["share"].is_object()) sum += double(kind["share"]["mean"]);
    CHECK(sum == Approx(1));
  }
}

TEST_CASE("the same log and time give the same answer to the last byte") {
  CHECK(advised("varrow_rim.jsonl", 70min) == advised("varrow_rim.jsonl", 70min));
}

TEST_CASE("before the first word everything is empty and nothing is advised") {
  const auto now = advised("varrow_rim.jsonl", 0min);
  CHECK(now["bagged"] == 0);
  CHECK(now["advice"].is_null());
  for (const auto& kind : now["whole_exercise"]["kinds"]) CHECK(kind["share"] == "no basis");
}

TEST_CASE("a log that is not there, and one with nothing in it, are said to be so") {
  std::ostringstream out, err;
  CHECK(commands::advise("no/such/log.jsonl", {}, out, err) == 2);
  CHECK(err.str().find("no/such/log.jsonl") != std::string::npos);
  CHECK(out.str().empty());
}

TEST_CASE("faults of a log are named by line, and what is valid is assessed") {
  std::ostringstream out, err;
  const std::string path = std::string(REPLAY_LOGS) + "/ravnhol.beginner.jsonl";
  CHECK(commands::advise(path, {}, out, err) == 0);
  CHECK(err.str().find("line ") != std::string::npos);
  CHECK(Json::parse(out.str())["bagged"] > 0);
}
