#include "console/commands/score.hpp"

#include <sstream>

#include <catch2/catch.hpp>

#include "console/debrief/chances.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"
#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

using namespace stonecall;
using namespace stonecall::protocol;

namespace {

Call chance(double p, std::string outcome) {
  Call call;
  call.text = "stated";
  call.chance = p;
  call.outcome = std::move(outcome);
  return call;
}

/// A log and what WREN did during it, on disk.
class Run {
 public:
  Run() { in_log(5, Arrival{"Ford"}, "FIELD-1"); }

  Uuid in_log(double minute, Body body, const std::string& from = "WREN") {
    return add(log_, minute, std::move(body), from);
  }
  Uuid in_record(double minute, Body body, const std::string& from = "WREN") {
    return add(record_, minute, std::move(body), from);
  }

  /// The record ends as a writer that died leaves it.
  void tear() { record_.pop_back(); }

  /// Exit code.
  int score(std::vector<int> came_true, std::vector<int> did_not) {
    folder_.write("log.jsonl", log_);
    if (!record_.empty()) folder_.write("record.jsonl", std::exchange(record_, {}));
    commands::ScoreFiles files;
    files.log = folder_ / "log.jsonl";
    files.record = folder_ / "record.jsonl";
    files.sheet = folder_ / "sheet.html";
    files.adviser = "WREN";
    files.came_true = std::move(came_true);
    files.did_not = std::move(did_not);
    said_.str("");
    return commands::score(files, said_, said_);
  }

  /// By what stands on disk.
  std::optional<bool> outcome_of(const Uuid& call) const {
    auto events = read_log_file(folder_ / "log.jsonl").value().events;
    const auto record = read_log_file(folder_ / "record.jsonl").value().events;
    events.insert(events.end(), record.begin(), record.end());
    return debrief::outcome_of(*picture::fold(events), call);
  }

  std::string said() const { return said_.str(); }

 private:
  Uuid add(std::string& lines, double minute, Body body, const std::string& from) {
    auto event = test::event(++last_, minute, std::move(body), from);
    event.seq.reset();
    lines += to_line(event) + '\n';
    return event.id;
  }

  tests::Folder folder_;
  std::string log_, record_;
  std::uint32_t last_ = 0;
  std::ostringstream said_;
};

}  // namespace

TEST_CASE("where the record is another's, the name is said to be wrong and nothing is written") {
  Run run;
  run.in_record(9, chance(0.2, "kept"), "LAMP");
  CHECK(run.score({}, {}) == 2);
  CHECK(run.said().find("is from WREN; it is from LAMP") != std::string::npos);
}

TEST_CASE("a chance that was taken back has no number on the sheet") {
  Run run;
  const Uuid taken_back = run.in_record(7, chance(0.3, "taken back"));
  run.in_record(8, Retract{taken_back, {}});
  const Uuid kept = run.in_record(9, chance(0.2, "kept"));
  const Uuid last = run.in_record(10, chance(0.1, "last"));
  REQUIRE(run.score({1}, {2}) == 0);
  CHECK(run.outcome_of(kept) == true);
  CHECK(run.outcome_of(last) == false);
  CHECK(run.score({3}, {}) == 2);
  CHECK(run.said().find("no stated chance number 3; 2 were stated") != std::string::npos);
}

TEST_CASE("a chance that the log holds is numbered as on the sheet, among those of the record") {
  Run run;
  const Uuid early = run.in_record(6, chance(0.3, "early"));
  const Uuid in_the_log = run.in_log(7, chance(0.5, "of the log"));
  const Uuid late = run.in_record(8, chance(0.2, "late"));
  run.in_log(9, chance(0.2, "another's"), "OWL");
  REQUIRE(run.score({1, 2}, {3}) == 0);
  CHECK(run.outcome_of(early) == true);
  CHECK(run.outcome_of(in_the_log) == true);
  CHECK(run.outcome_of(late) == false);
}

TEST_CASE("what is said last of a chance counts, at the desk or afterwards") {
  Run run;
  const Uuid stated = run.in_record(7, chance(0.3, "marble turns up"));
  run.in_record(20, debrief::outcome_said(stated, true));
  REQUIRE(run.score({}, {1}) == 0);
  CHECK(run.outcome_of(stated) == false);
  // Their ids are drawn, so that an order by these would come out right once in a while.
  for (const bool came_true : {true, false, true, false, true, false, true}) {
    REQUIRE(run.score(came_true ? std::vector{1} : std::vector<int>{},
                      came_true ? std::vector<int>{} : std::vector{1}) == 0);
    CHECK(run.outcome_of(stated) == came_true);
  }
}

TEST_CASE(
    "a record that ends without a line feed loses nothing when what came of a chance is added") {
  Run run;
  const Uuid first = run.in_record(6, chance(0.3, "first"));
  const Uuid last = run.in_record(7, chance(0.4, "last"));
  run.tear();
  REQUIRE(run.score({1}, {2}) == 0);
  CHECK(run.outcome_of(first) == true);
  CHECK(run.outcome_of(last) == false);
  REQUIRE(run.score({}, {}) == 0);
  CHECK(run.said().find("not JSON") == std::string::npos);
}

TEST_CASE("of one call a score speaks as of one") {
  Run run;
  Call call;
  call.text = "Move on.";
  run.in_record(6, call);
  REQUIRE(run.score({}, {}) == 0);
  CHECK(run.said().starts_with("WREN: 1 call, "));
}
