#include "console/debrief/score.hpp"

#include <catch2/catch.hpp>

#include "console/debrief/chances.hpp"
#include "console/debrief/score_sheet.hpp"
#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using debrief::ScoreSheet;
using test::clock;
using test::Exercise;
using namespace std::chrono_literals;

namespace {

/// Marble, wanted twice, lies at the Terrace alone; the party stays long at the Ford all the same.
Plan marble_ahead() {
  Plan plan = test::small_plan();
  plan.documentation = {{}, false, false, {}};
  plan.stations[0].expected = {{"gneiss", 100}};
  plan.stations[1].expected = {{"marble", 60}, {"slate", 40}};
  plan.duration_minutes = 80;
  return plan;
}

Exercise afternoon() {
  Exercise exercise(marble_ahead());
  exercise.say(5, Arrival{"Ford"});
  exercise.say(8, Tally{{{"gneiss", 20}}, 20, {}});
  exercise.say(9, Tally{{{"gneiss", 20}}, 20, {}});
  exercise.say(40, Departure{"Ford"});
  exercise.say(47, Arrival{"Terrace"});
  exercise.say(49, Tally{{{"marble", 6}, {"slate", 4}}, 10, {}});
  exercise.say(51, test::sample("1", "marble"));
  return exercise;
}

Call says(Says what, std::optional<double> until = {}) {
  Call call = test::call("said");
  call.says = what;
  if (until) call.until = clock(*until);
  return call;
}

Call chance(double p, std::string outcome) {
  Call call = test::call("stated");
  call.chance = p;
  call.outcome = std::move(outcome);
  return call;
}

ScoreSheet score(const Exercise& exercise, const std::string& adviser = "WREN") {
  return debrief::score(exercise.look_back(), exercise.events(), adviser);
}

}  // namespace

TEST_CASE("a call to leave a barren stop gives away less the sooner it comes") {
  auto soon = afternoon(), late = afternoon();
  soon.say(10, says(Says::move_on), "WREN");
  late.say(12, says(Says::stay, 38), "WREN");
  const auto soon_sheet = score(soon), late_sheet = score(late);
  REQUIRE(soon_sheet.calls.size() == 1);
  REQUIRE(late_sheet.calls.size() == 1);
  CHECK(late_sheet.calls[0].regret().value() > 3 * soon_sheet.calls[0].regret().value());
  CHECK(late_sheet.calls[0].leaves == clock(38).instant);
}

TEST_CASE("a call is in time when the party can act on it before leaving was best") {
  auto exercise = afternoon();
  exercise.say(6, says(Says::move_on), "WREN");
  const auto debrief = exercise.look_back();
  const auto sheet = debrief::score(debrief, exercise.events(), "WREN");
  REQUIRE(sheet.stays.size() == 2);
  const auto& ford = sheet.stays[0];
  CHECK(ford.station == "Ford");
  CHECK(ford.left == clock(40).instant);
  REQUIRE(ford.best);
  CHECK(*ford.best < clock(20).instant);
  // Small plan: no delay of the link, three minutes to act.
  CHECK(*ford.best - *ford.useful_until == 3min);
  REQUIRE(ford.call);
  CHECK(*ford.to_spare(debrief) == *ford.useful_until - clock(6).instant);
  CHECK_FALSE(sheet.stays[1].call);
  CHECK_FALSE(sheet.stays[1].to_spare(debrief));
}

TEST_CASE("hindsight does not wait for a note to be read, nor for a slip to be put right") {
  Exercise exercise(marble_ahead());
  const auto note = exercise.say(6, VoiceNote{"we are at the ford", "FIELD-1", {}});
  const auto slip = exercise.say(8, Tally{{{"marble", 20}}, 20, {}});
  exercise.say(30, Reading{test::id(note), Outcome::accepted, Arrival{"Ford"}, {}, {}}, "QUILL");
  exercise.say(35, Amend{test::id(slip), {{"counts", {{{"rock", "gneiss"}, {"count", 20}}}}}, {}});
  exercise.say(36, Amend{test::id(note), {{"at", "2027-05-18T09:05:00.000+02:00"}}, {}});
  exercise.say(40, Departure{"Ford"});
  exercise.say(10, says(Says::move_on), "WREN");
  const auto sheet = score(exercise);
  REQUIRE(sheet.stays.size() == 1);
  CHECK(sheet.stays[0].arrived == clock(5).instant);
  CHECK(sheet.stays[0].best);
  REQUIRE(sheet.calls.size() == 1);
  CHECK(sheet.calls[0].regret());
}

TEST_CASE("a call to stay past the latest departure is named as one, not valued") {
  auto exercise = afternoon();
  exercise.say(10, says(Says::stay, 20), "WREN");
  exercise.say(11, says(Says::stay, 300), "WREN");
  const auto debrief = exercise.look_back();
  const auto limit = debrief.calls[1].then.turn_back.value().latest_departure;
  const auto minutes = [](auto span) { return std::chrono::duration<double>(span).count() / 60; };
  exercise.say(12, says(Says::stay, minutes(limit)), "WREN");  // to the last
  exercise.say(13, says(Says::stay, minutes(limit) + 2), "WREN");
  const auto back = exercise.look_back();
  const auto sheet = debrief::score(back, exercise.events(), "WREN");
  REQUIRE(sheet.calls.size() == 4);
  CHECK(sheet.calls[0].regret());
  CHECK_FALSE(sheet.calls[0].past_limit);
  CHECK_FALSE(sheet.calls[1].regret());
  CHECK(sheet.calls[1].past_limit == clock(0).instant + limit);
  CHECK(sheet.calls[2].regret());
  CHECK_FALSE(sheet.calls[2].past_limit);
  CHECK(sheet.calls[3].past_limit);
  const auto page = debrief::score_sheet(back, sheet, {}, {});
  CHECK(page.find("past the latest departure, " +
                  protocol::elapsed_minutes_text(protocol::Milliseconds(limit))) !=
        std::string::npos);
  CHECK(page.find("Past the latest departure") != std::string::npos);
}

TEST_CASE("where it is too late to leave in time a call to stay on is past the latest departure") {
  auto exercise = Exercise(marble_ahead());
  exercise.say(5, Arrival{"Ford"});
  exercise.say(79, says(Says::stay, 85), "WREN");
  const auto sheet = score(exercise);
  REQUIRE(sheet.calls.size() == 1);
  CHECK(sheet.calls[0].past_limit);
}

TEST_CASE("what does not speak of leaving is not judged by it") {
  auto exercise = afternoon();
  exercise.say(10, says(Says::ask), "WREN");
  exercise.say(11, says(Says::stay), "WREN");
  exercise.say(44, says(Says::move_on), "WREN");  // on the way
  const auto sheet = score(exercise);
  REQUIRE(sheet.calls.size() == 3);
  for (const auto& call : sheet.calls) CHECK_FALSE(call.regret());
  CHECK_FALSE(sheet.mean_regret());
}

TEST_CASE("only the adviser's own calls are judged") {
  auto exercise = afternoon();
  exercise.say(10, says(Says::move_on), "BASE");
  CHECK(score(exercise).calls.empty());
  CHECK(score(exercise, "BASE").calls.size() == 1);
}

TEST_CASE("the adviser's own pauses are told, and nobody else's") {
  auto exercise = afternoon();
  CHECK(score(exercise).pauses.empty());
  const auto pause = [&](double minute, double seconds, const char* who) {
    Remark remark{"Practice paused.", {}, {}};
    remark.paused_seconds = seconds;
    exercise.say(minute, remark, who);
  };
  pause(10, 90.5, "WREN");
  pause(11, 7, "OTHER");
  pause(50, 30, "WREN");
  using namespace std::chrono_literals;
  const auto sheet = score(exercise);
  CHECK(sheet.pauses == std::vector<protocol::Milliseconds>{90'500ms, 30'000ms});
  CHECK(score_sheet(exercise.look_back(), sheet, {}).find("in 2 pauses") != std::string::npos);
}

TEST_CASE("stated chances are scored after Brier once it is said what came of them") {
  auto exercise = afternoon();
  const auto first = exercise.say(10, chance(0.8, "marble by the hour"), "WREN");
  const auto second = exercise.say(12, chance(0.4, "a new kind at the Ford"), "WREN");
  exercise.say(13, chance(0.5, "rain"), "WREN");
  CHECK_FALSE(score(exercise).brier());
  const auto mark = [&](std::uint32_t chance, bool came_true) {
    exercise.say(60, debrief::outcome_said(test::id(chance), came_true), "WREN");
  };
  mark(first, true);
  mark(second, false);
  const auto sheet = score(exercise);
  REQUIRE(sheet.chances.size() == 3);
  CHECK(sheet.chances[0].came_true == true);
  CHECK(sheet.chances[1].came_true == false);
  CHECK_FALSE(sheet.chances[2].came_true);
  // (0.2² + 0.4²)/2, by hand.
  CHECK(sheet.brier().value() == Approx(0.10));
  mark(first, false);  // the last word counts
  CHECK(score(exercise).brier().value() == Approx((0.64 + 0.16) / 2));
}

TEST_CASE("a call that states a chance as well is judged as a call and as a chance") {
  auto exercise = afternoon();
  auto both = says(Says::move_on);
  both.chance = 0.9;
  both.outcome = "marble at the Terrace";
  exercise.say(10, both, "WREN");
  exercise.say(11, chance(0.5, "rain"), "WREN");
  const auto sheet = score(exercise);
  REQUIRE(sheet.calls.size() == 1);
  CHECK(sheet.calls[0].regret());
  CHECK(sheet.chances.size() == 2);
}

TEST_CASE("a kind that fell short is named with why") {
  const auto sheet = score(afternoon());
  const auto find = [&](const std::string& rock) {
    for (const auto& each : sheet.missed)
      if (each.rock == rock) return each;
    return debrief::MissedKind{};
  };
  CHECK(find("marble").bagged == 1);
  CHECK(find("marble").why == "first met at 0:49, Terrace");
  CHECK(find("gneiss").why == "met at 0:08, Ford; the party left there at 0:40");
  CHECK(find("quartzite").rock.empty());  // neither wanted nor met
}

TEST_CASE("without a plan nothing is weighed and nothing breaks") {
  std::vector<EventPtr> events{test::shared(1, 5, Arrival{"Ford"}),
                               test::shared(2, 9, says(Says::move_on), "WREN")};
  const auto debrief = debrief::look_back({"bare.jsonl", events, {}});
  const auto sheet = debrief::score(debrief, events, "WREN");
  REQUIRE(sheet.stays.size() == 1);
  CHECK_FALSE(sheet.stays[0].best);
  CHECK_FALSE(sheet.mean_regret());
  CHECK(debrief::score_sheet(debrief, sheet, {}).find("Your calls") != std::string::npos);
}

TEST_CASE("hostile words in calls and names stay words on the sheet") {
  auto exercise = afternoon();
  Call call = says(Says::move_on);
  call.text = "<script>alert(1)</script>";
  exercise.say(10, call, "WREN");
  exercise.say(11, chance(0.5, "<img src=x>"), "WREN");
  const auto debrief = exercise.look_back();
  const auto page =
      debrief::score_sheet(debrief, debrief::score(debrief, exercise.events(), "WREN"),
                           {{"2027-05-01", "WREN", "<b>Larch</b>", 3, 0.2, {}}});
  CHECK(page.find("<script>") == std::string::npos);
  CHECK(page.find("<img") == std::string::npos);
  CHECK(page.find("<b>Larch") == std::string::npos);
  CHECK(page.find("&lt;script&gt;") != std::string::npos);
}

TEST_CASE(
    "a practice run is the same after writing and reading, and a broken line names the member") {
  const debrief::PracticeRun run{"2027-05-18", "WREN", "Larch Hollow", 7, 0.25, 0.125};
  CHECK(debrief::parse_practice_run(debrief::to_line(run)).value() == run);
  const debrief::PracticeRun short_run{"2027-05-18", "WREN", "Larch Hollow", 0, {}, {}};
  CHECK(debrief::parse_practice_run(debrief::to_line(short_run)).value() == short_run);
  CHECK(debrief::parse_practice_run(R"({"day":"x","adviser":"y","exercise":"z"})").error().member ==
        "calls");
  CHECK(debrief::parse_practice_run(R"({"day":1})").error().member == "day");
  CHECK_FALSE(debrief::parse_practice_run("[]"));
  CHECK_FALSE(debrief::parse_practice_run("\xff"));
}

TEST_CASE("a sheet of a log without a stay and without a plan says so in words") {
  const auto remark = std::make_shared<const Event>(test::event(1, 0, Remark{"Hello", {}, {}}));
  const auto back = debrief::look_back({"bare.jsonl", {remark}, {}});
  const auto page = debrief::score_sheet(back, debrief::score(back, {remark}, "WREN"), {}, {});
  CHECK(page.find("<tbody></tbody>") == std::string::npos);
  CHECK(page.find("The log tells of no stay at a station.") != std::string::npos);
  CHECK(page.find("None: all that was met was bagged.") != std::string::npos);
  CHECK(page.find("from the first word of the log") != std::string::npos);
  CHECK(page.find("planned start") == std::string::npos);
  CHECK(page.find("wishes") == std::string::npos);
}

TEST_CASE("a chance that is neither sure nor out of the question is not shown as such") {
  const auto [stated, shown] = GENERATE(table<double, std::string>({{0.996, "over 99\u00A0%"},
                                                                    {0.004, "under 1\u00A0%"},
                                                                    {1, ">100\u00A0%"},
                                                                    {0, ">0\u00A0%"},
                                                                    {0.7, ">70\u00A0%"}}));
  auto exercise = afternoon();
  exercise.say(10, chance(stated, "it rains"), "WREN");
  const auto back = exercise.look_back();
  const auto page = debrief::score_sheet(back, score(exercise), {}, {});
  CAPTURE(stated);
  CHECK(page.find(shown) != std::string::npos);
}

TEST_CASE("of one rock counted the sheet speaks as of one") {
  Exercise exercise(marble_ahead());
  exercise.say(5, Arrival{"Ford"});
  exercise.say(8, Tally{{{"gneiss", 1}}, 1, {}});
  const auto sheet = score(exercise);
  REQUIRE_FALSE(sheet.missed.empty());
  const auto marble = std::ranges::find(sheet.missed, "marble", &debrief::MissedKind::rock);
  REQUIRE(marble != sheet.missed.end());
  CHECK(marble->why == "not met; 1 rock was counted");
}
