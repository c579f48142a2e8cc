#include "console/commands/estimate.hpp"

#include <sstream>

#include <catch2/catch.hpp>

using namespace stonecall;
using protocol::Json;

namespace {

struct Ran {
  int exit_code;
  std::string out, err;
};

Ran run(const std::string& text) {
  std::istringstream in(text);
  std::ostringstream out, err;
  const int exit_code = commands::estimate(in, out, err);
  return {exit_code, out.str(), err.str()};
}

}  // namespace

TEST_CASE("one row of numbers is counts, several are looks") {
  CHECK(commands::calculator_request("7 2 1").value() == Json{{"counts", {7, 2, 1}}});
  CHECK(commands::calculator_request("7, 2;1\n\n5\t5 0\r\n").value() ==
        Json{{"looks", {{7, 2, 1}, {5, 5, 0}}}});
  CHECK(commands::calculator_request("# gneiss slate\n7 2 # of ten\n").value() ==
        Json{{"counts", {7, 2}}});
}

TEST_CASE("a JSON object is taken as it is") {
  CHECK(commands::calculator_request(" \n{\"size_mm\": 35}").value() == Json{{"size_mm", 35}});
}

TEST_CASE("what the table and the object say of the same counts is the same") {
  const auto table = run("46 22 1 1");
  const auto object = run(R"({"counts": [46, 22, 1, 1]})");
  CHECK(table.exit_code == 0);
  CHECK(table.out == object.out);
  CHECK(Json::parse(table.out).is_object());
}

TEST_CASE("a row that is too short is named by its line") {
  const auto ran = run("7 2 1\n\n5 5\n");
  CHECK(ran.exit_code == 2);
  CHECK(ran.out.empty());
  CHECK(ran.err ==
        "stonecall: line 3: 2 numbers where the rows before have 3; a kind not met is a 0\n");
}

TEST_CASE("a word that is no whole number is named by its line") {
  for (const char* word : {"seven", "7.5", "99999999999999999999", "7x", "\xff"}) {
    CAPTURE(word);
    const auto ran = run(std::string("1 2\n3 ") + word);
    CHECK(ran.exit_code == 2);
    CHECK(ran.err.starts_with("stonecall: line 2: \""));
  }
}

TEST_CASE("nothing, too much and broken JSON are said to be so") {
  CHECK(run("").err == "stonecall: nothing to work out: no counts and no JSON object\n");
  CHECK(run(std::string(1'000'001, '1')).err == "stonecall: more than 1 MB\n");
  CHECK(run("{\"counts\": [1, 2").exit_code == 2);
  CHECK(run("{\"counts\": [1, -2]}").err.find("counts") != std::string::npos);
}
