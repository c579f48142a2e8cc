#include "console/commands/check.hpp"

#include <sstream>

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

using namespace stonecall;
using Catch::Matchers::Contains;

namespace {

struct Checked {
  int exit_code = 0;
  std::string said;
};

Checked check(const protocol::Json& plan) {
  const tests::Folder folder;
  std::ostringstream out, err;
  const int exit_code = commands::check(folder.write("plan.json", plan.dump(1)), out, err);
  return {exit_code, out.str() + err.str()};
}

}  // namespace

TEST_CASE("a sound plan is one without anything to look at") {
  const auto [exit_code, said] = check(to_json(test::small_plan()));
  CHECK(exit_code == 0);
  CHECK_THAT(said, Catch::EndsWith("no fault\n"));
}

TEST_CASE("what a plan says and hardly means is to be looked at") {
  auto plan = to_json(test::small_plan());
  plan["walkin"] = {{"speed_kmh", 5}};
  plan["stations"][0]["latitude"] = -46.0045;  // the other hemisphere
  plan["stations"][0]["arrive_minutes"] = 60;
  plan["stations"][1]["arrive_minutes"] = 20;
  const auto [exit_code, said] = check(plan);
  CHECK(exit_code == 0);  // it may be meant
  CHECK_THAT(said, Contains("\"walkin\": means nothing here"));
  CHECK_THAT(said, Contains("\"stations[0].latitude\": Ford stands 10"));  // ten thousand km
  CHECK_THAT(said, Contains("\"stations[1].arrive_minutes\": is before that of a station before"));
  CHECK_THAT(said, Catch::EndsWith("no fault, 3 to look at\n"));

  plan["stations"][1]["arrive_minutes"] = 121;
  CHECK_THAT(check(plan).said, Contains("is after the end of the exercise"));
}
