#include "console/commands/advise.hpp"

#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"
#include "tests/support/folder.hpp"

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

TEST_CASE("a call that is no matter of chance is not told with a chance of nothing") {
  advise::Assessment now;
  now.advice.emplace();
  CHECK(commands::to_json(now, picture::Picture{})["advice"]["p_best"].is_null());
  now.advice->p_best = 0.7;
  CHECK(commands::to_json(now, picture::Picture{})["advice"]["p_best"] == 0.7);
}

TEST_CASE("a latest departure is never told later than it is, before the start neither") {
  advise::Assessment now;
  now.turn_back = advise::TurnBack{"Ford", 900, 18, 20, -2037012ms, 61999ms};
  const auto told = commands::to_json(now, picture::Picture{})["turn_back"];
  CHECK(told["latest_departure"] == "-0:33:58");
  CHECK(told["latest_useful_call"] == "0:01:01");
}

TEST_CASE("seventy minutes into the demo log the figures are those worked out by hand in R") {
  const auto now = advised("varrow_rim.jsonl", 70min);
  const auto& whole = now["whole_exercise"];
  // Nine looks, one of them put right afterwards, and two rocks taken without choosing:
  //   L <- rbind(c(5,2,0,2,0,1,0,0), c(4,2,0,2,0,1,0,1), c(6,2,1,1,0,0,0,0), c(5,2,0,1,1,1,0,0),
  //     c(1,1,0,7,1,0,0,0), c(8,2,0,0,0,0,0,0), c(2,6,0,0,0,2,0,0), c(1,0,0,8,2,0,0,1),
  //     c(2,4,0,1,1,0,2,0), c(1,0,0,0,0,0,0,0), c(1,0,0,0,0,0,0,0))
  // of andesite, dacite, rhyolite, ignimbrite, welded tuff, basalt, breccia, other. R 4.2.2:
  //   n <- rowSums(L); N <- sum(n); t <- colSums(L); W <- sum(L*(L-1))/sum(n*(n-1))
  //   B <- (sum(t*(t-1)) - sum(L*(L-1)))/(N*(N-1) - sum(n*(n-1))); r <- (W-B)/(1-B)
  //   d <- 1 + r*(sum(n^2)/N - 1); a <- .5 + c(t, pumice=0, opal=0)/d
  //   a/sum(a); qbeta(c(.05, .95), a, sum(a) - a)
  CHECK(whole["rests_on"]["counted"] == 94);
  CHECK(whole["rests_on"]["chosen_samples_not_used"] == 13);
  CHECK(double(whole["rests_on"]["design_effect"]) == Approx(2.37736731353753).epsilon(1e-12));
  const auto check = [&](std::size_t kind, const char* rock, double mean, double low, double high) {
    const auto& row = whole["kinds"][kind];
    CHECK(row["rock"] == rock);
    CHECK(double(row["share"]["mean"]) == Approx(mean).epsilon(1e-8));
    CHECK(double(row["share"]["low"]) == Approx(low).epsilon(1e-8));
    CHECK(double(row["share"]["high"]) == Approx(high).epsilon(1e-8));
  };
  check(0, "andesite", 0.3512115846, 0.2386587347, 0.4714474462);
  check(1, "dacite", 0.2095509166, 0.1182281071, 0.3158382426);
  check(3, "ignimbrite", 0.2189949611, 0.1257833587, 0.3266882936);
  check(4, "welded tuff", 0.0584462041, 0.0144340306, 0.1247840020);
  // f1 = f2 = 1 of seven kinds: Chao1 adds 1·0/(2·2) = 0; log(.05)/log(.95) rounded up is 59.
  CHECK(double(whole["not_seen_yet"]["chao1"]["mean"]) == Approx(7));
  CHECK(whole["not_seen_yet"]["needed_for_five_percent"] == 59);
  // 907 m at the plan's 3.2 km/h is 17.006 min; with a fifth on top, 150 - 20.41 min is 2:09:35; 15
  // s of delay and 2 min to act before it 2:07:20.
  CHECK(now["turn_back"]["latest_departure"] == "2:09:35");
  CHECK(now["turn_back"]["latest_useful_call"] == "2:07:20");
}

TEST_CASE("the end of a log is when the last of it was known, wherever that stands in it") {
  const tests::Folder folder;
  const auto line = [](std::uint32_t n, double minute, protocol::Body body) {
    auto event = test::event(n, minute, std::move(body));
    event.seq.reset();
    return protocol::to_line(event) + '\n';
  };
  protocol::SampleTaken taken;
  taken.number = "1";
  const auto log =
      folder.write("log.jsonl", line(1, 0, protocol::Arrival{"Ford"}) + line(2, 12, taken) +
                                    line(3, 8, protocol::VoiceNote{"late", {}, {}}));
  std::ostringstream out, err;
  REQUIRE(commands::advise(log, std::nullopt, out, err) == 0);
  const auto end = Json::parse(out.str());
  CHECK(end["at"] == "0:12:00");
  CHECK(end["bagged"] == 1);
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
