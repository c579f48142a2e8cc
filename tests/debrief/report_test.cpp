#include "console/debrief/report.hpp"

#include <array>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "console/advise/turn_back.hpp"
#include "console/debrief/markup.hpp"
#include "console/estimate/diversity.hpp"
#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::test;

namespace {

bool has(const std::string& page, const std::string& words) {
  return page.find(words) != std::string::npos;
}

std::string section(const std::string& page, const std::string& id) {
  const auto begin = page.find("<section id=\"" + id + "\"");
  REQUIRE(begin != std::string::npos);
  return page.substr(begin, page.find("</section>", begin) - begin);
}

/// Cells of figures as a table writes them, one after the other.
std::string figures(const std::vector<std::string>& cells) {
  std::string text;
  for (const auto& cell : cells)
    text += (text.empty() ? "" : "\n") + ("<td class=\"n\">" + cell + "</td>");
  return text;
}

Exercise afternoon() {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("1", "gneiss"));
  exercise.say(16, protocol::Tally{{{"gneiss", 8}, {"slate", 2}}, 10, {}});
  exercise.say(18, protocol::Share{"slate", {90, 96}, {}, {}, {}}, "FIELD-2");
  auto said = call("Move on to Terrace now.");
  said.says = protocol::Says::move_on;
  said.useful_until = clock(21);
  const auto number = exercise.say(20, said, "BASE");
  exercise.say(24, protocol::CallAnswer{id(number), protocol::Answered::heard, "late"});
  exercise.say(25, protocol::Question{"Is the slate in place?", protocol::Side::field, {}, {}},
               "BASE");
  const auto answered =
      exercise.say(26, protocol::Question{"Which way?", protocol::Side::back_room, {}, {}});
  exercise.say(27, protocol::Answer{id(answered), "North."}, "BASE");
  exercise.say(28, protocol::Departure{});
  exercise.say(30, protocol::Remark{"Talk about the count", {}, true}, "BASE");
  exercise.say(40, protocol::Arrival{"BASE"});
  return exercise;
}

/// The cells of a row that says how varied the ground is under these looks. `counted`: orders 1 and
/// 2 of what was counted.
std::string variety_of(const estimate::Looks& looks, double patchiness,
                       const std::array<std::string, 2>& counted) {
  const auto ground = estimate::ground_diversity(looks, patchiness).value();
  const auto shown = [](const estimate::HillNumber& number) {
    return fmt::format("{:.1f} ({:.1f}–{:.1f})", number.value, number.interval.lower,
                       number.interval.upper);
  };
  return figures({std::to_string(10 * looks.size()), "2", shown(ground.kinds), counted[0],
                  shown(ground.common), counted[1], shown(ground.dominant)});
}

}  // namespace

TEST_CASE("the report says how the exercise ended and what came home") {
  const auto glance = section(debrief::report(afternoon().look_back()), "glance");
  CHECK(has(glance, "The party was back at BASE at 0:40, 80 min before the planned end."));
  CHECK(has(glance, "marble (0 of 2) and slate (0 of 1)"));
  CHECK(has(glance, "1 call: 0 acted on, 1 heard, 0 declined."));
}

TEST_CASE("the report shows each station as planned and as walked") {
  const auto hours = section(debrief::report(afternoon().look_back()), "hours");
  CHECK(has(hours, "<th scope=\"row\">Ford</th>"));
  CHECK(has(hours, "not walked"));  // Terrace
  CHECK(has(hours, "−12"));         // 18 of 30 minutes
}

TEST_CASE("the report names for each sample what it lacks") {
  const auto samples = section(debrief::report(afternoon().look_back()), "samples");
  CHECK(has(samples, "0 of 1 sample have all"));
  CHECK(has(samples, "stereo pair, down-sun picture, picture of the place after"));
}

TEST_CASE("the report says of each share what it rests on, and lays contradictions open") {
  const auto ground = section(debrief::report(afternoon().look_back()), "ground");
  CHECK(has(ground, "Rests on 10 counted in 1 look and 1 spoken share; 1 chosen sample not used."));
  CHECK(has(ground, "FIELD-2 said 90–96\u00A0% slate at 0:18; the counts allow"));
}

TEST_CASE("the report tells a call that came too late in words, not by colour alone") {
  const auto calls = section(debrief::report(afternoon().look_back()), "calls");
  CHECK(has(calls, "Too late: it was said to be useful until 0:21."));
  CHECK(has(calls, "0:24 FIELD-1: heard, “late”"));
  CHECK(has(calls, "The party left Ford at 0:28"));
}

TEST_CASE("a call that nobody answered is not counted among those heard too late") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  auto said = call("Move on.");
  said.useful_until = clock(21);
  exercise.say(15, said, "BASE");
  exercise.say(40, protocol::Departure{});
  auto page = debrief::report(exercise.look_back());
  CHECK_FALSE(has(section(page, "glance"), "later than"));
  CHECK_FALSE(has(section(page, "calls"), "too late"));
  CHECK_FALSE(has(section(page, "hours"), "1 late"));
  page = debrief::report(afternoon().look_back());
  CHECK(has(section(page, "glance"), "One was heard later than it said it was useful."));
  CHECK(has(section(page, "calls"), ">too late<"));
  CHECK(has(section(page, "hours"), "1 late"));
}

TEST_CASE("a chance that somebody stated is no call that the field left without an answer") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  const auto number = exercise.say(12, call("Count ten."), "BASE");
  exercise.say(13, protocol::CallAnswer{id(number), protocol::Answered::acting, {}});
  auto stated = call("A chance");
  stated.chance = 0.7;
  stated.outcome = "a new kind within ten minutes";
  exercise.say(15, stated, "BASE");
  auto page = debrief::report(exercise.look_back());
  CHECK(has(section(page, "glance"),
            "The back room made 1 call: 1 acted on, 0 heard, 0 declined. It stated 1 chance."));
  CHECK(has(section(page, "calls"), ">a chance<"));
  CHECK_FALSE(has(section(page, "calls"), "not answered"));

  Exercise alone;
  alone.say(15, stated, "BASE");
  page = debrief::report(alone.look_back());
  CHECK(has(section(page, "glance"), "The back room made no call. It stated 1 chance."));
}

TEST_CASE("where a later plan starts later, what was advised before is told by the page's clock") {
  Exercise exercise;
  exercise.say(40, protocol::Arrival{"Ford"});
  exercise.say(103, call("Come back."), "BASE");  // soon they must
  auto later = small_plan();
  later.start = clock(30);
  exercise.say(110, protocol::PlanGiven{later}, "BASE");
  const auto back = exercise.look_back();
  const auto& then = back.calls[0].then;
  const auto by_the_page = [](protocol::Milliseconds elapsed) {
    return protocol::elapsed_minutes_text(elapsed - std::chrono::minutes(30));
  };
  const auto calls = section(debrief::report(back), "calls");
  CHECK(has(calls, "Call 1 at 1:13, BASE"));
  CHECK(
      has(calls, "Latest departure " + by_the_page(then.turn_back.value().latest_departure) + "."));
  const auto sentence = then.advice.value().sentence.told(by_the_page);
  REQUIRE(sentence != then.advice->sentence.elapsed());  // it names a moment
  CHECK(has(calls, sentence));
}

TEST_CASE("what was answered to a call is told in the order it came") {
  const auto [first, then, words] =
      GENERATE(table<protocol::Answered, protocol::Answered, std::string>(
          {{protocol::Answered::declined, protocol::Answered::acting, "declined, then acted on"},
           {protocol::Answered::acting, protocol::Answered::declined, "acted on, then declined"}}));
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  const auto number = exercise.say(15, call("Move on."), "BASE");
  exercise.say(16, protocol::CallAnswer{id(number), first, {}});
  exercise.say(17, protocol::CallAnswer{id(number), then, {}});
  CHECK(has(section(debrief::report(exercise.look_back()), "calls"), ">" + words + "<"));
}

TEST_CASE("a spoken share stands beside what was counted of the same kind") {
  const auto callers = section(debrief::report(afternoon().look_back()), "callers");
  CHECK(has(callers, "slate, Ford 0:18: said 93 %, counted 2 of 10"));
}

TEST_CASE("only questions without an answer are listed as open, and pinned remarks are kept") {
  const auto questions = section(debrief::report(afternoon().look_back()), "questions");
  CHECK(has(questions, "1 of 2 questions without an answer."));
  CHECK(has(questions, "Is the slate in place?"));
  CHECK_FALSE(has(questions, "Which way?"));
  CHECK(has(questions, "Talk about the count"));
}

TEST_CASE("the report repeats the log's own checks: faults by line and what to look at") {
  auto exercise = afternoon();
  exercise.say(41, protocol::Sighting{"moonstone", true, {}});
  const auto page = debrief::report(debrief::look_back(
      {"larch.jsonl", exercise.events(), {{"at", "not RFC 3339", std::size_t{118}}}}));
  const auto log = section(page, "log");
  CHECK(has(log, "<th scope=\"row\" class=\"n\">118</th>"));
  CHECK(has(log, "not RFC 3339"));
  CHECK(has(log, "moonstone"));
}

TEST_CASE("the report defers to the field leader and to local rules wherever it is opened") {
  const auto page = debrief::report(afternoon().look_back());
  const auto cautions = section(page, "cautions");
  CHECK(has(cautions, debrief::Markup(advise::turn_back_caution).html()));
  CHECK(has(cautions, "Local codes"));
  CHECK(has(page, "the field leader decides"));  // the foot of each printed page
}

TEST_CASE("where nothing was counted the report says that there is no basis") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, sample("1", "gneiss"));
  const auto page = debrief::report(exercise.look_back());
  CHECK(has(section(page, "growth"), "No basis"));
  CHECK(has(section(page, "ground"), "No basis: nothing counted, no share spoken"));
  CHECK(has(section(page, "calls"), "No call was made."));
  CHECK_FALSE(has(page, "nan"));
  CHECK_FALSE(has(page, "inf<"));
}

TEST_CASE("one rock counted is counted, though it tells nothing of kinds not seen") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, protocol::Tally{{{"gneiss", 1}}, 1, {}});
  const auto page = debrief::report(exercise.look_back());
  CHECK(has(section(page, "glance"), "1 in counts"));
  CHECK_FALSE(has(section(page, "growth"), "nothing was counted"));
}

TEST_CASE("unselective samples are counted, but not in a look") {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  auto taken = sample("1", "gneiss");
  taken.unselective = true;
  exercise.say(11, taken);
  exercise.say(12, protocol::Tally{{{"gneiss", 4}}, 4, {}});
  const auto page = debrief::report(exercise.look_back());
  CHECK(has(section(page, "glance"), "in 1 look and 1 unselective sample"));
}

TEST_CASE("a single remark without a plan is enough for a report") {
  const auto page = debrief::report(
      debrief::look_back({"one.jsonl", {shared(1, 0, protocol::Remark{"hello", {}, {}})}, {}}));
  CHECK(has(page, "<h1>one.jsonl</h1>"));
  CHECK(has(section(page, "log"), "No plan is in this log"));
}

TEST_CASE("the same debrief gives the same bytes") {
  const auto exercise = afternoon();
  CHECK(debrief::report(exercise.look_back()) == debrief::report(exercise.look_back()));
}

TEST_CASE("nothing that was said, typed or named becomes part of the page's markup") {
  const std::string evil = "</style></title><script>alert(1)</script><!--\"'&";
  auto plan = small_plan();
  plan.name = plan.place = plan.notes = evil;
  plan.stations[0].station = "Ford<u>";
  plan.stations[0].why = evil;
  plan.vocabulary.push_back({"tuff<u>", {}});
  plan.wanted.push_back({"tuff<u>", 1, 1, 0.5});
  Exercise exercise(plan);
  exercise.say(10, protocol::Arrival{"Ford<u>"});
  auto taken = sample("1<u>", "tuff<u>");
  taken.bag = "7<u>";
  taken.picked = taken.description = evil;
  exercise.say(12, taken);
  exercise.say(13, protocol::Share{"tuff<u>", {50, 60}, {}, {}, "HERON<u>"});
  exercise.say(14, protocol::Tally{{{"tuff<u>", 5}}, 10, {}});
  auto said = call(evil);
  said.sample = "1<u>";
  said.chance = 0.5;
  said.outcome = evil;
  const auto number = exercise.say(15, said, "LAMP<u>");
  exercise.say(16, protocol::CallAnswer{id(number), protocol::Answered::heard, evil}, "A<u>");
  exercise.say(17, protocol::Question{evil, {}, {}, {}}, "A<u>");
  exercise.say(18, protocol::Remark{evil, {}, true}, "A<u>");
  exercise.say(19, protocol::Photo{"99<u>", protocol::View::after, {}});
  const auto page = debrief::report(
      debrief::look_back({"x<u>.jsonl", exercise.events(), {{"m<u>", evil, std::size_t{3}}}}));
  CHECK_FALSE(has(page, "<script"));
  CHECK_FALSE(has(page, "<u>"));
  CHECK_FALSE(has(page, "<!--"));
  const auto count = [&](const std::string& words) {
    std::size_t found = 0;
    for (auto at = page.find(words); at != std::string::npos; at = page.find(words, at + 1))
      ++found;
    return found;
  };
  CHECK(count("</style>") == 1);
  CHECK(count("alert(1)") >= 8);  // shown as the words they are
}

TEST_CASE("a call shows each kind as known then and as known at the end") {
  auto exercise = afternoon();
  exercise.say(22, sample("2", "slate"));
  const auto calls = section(debrief::report(exercise.look_back()), "calls");
  const auto begin = calls.find("Kinds at Ford as known then");
  REQUIRE(begin != std::string::npos);
  const auto slate = calls.find("slate</span></th>", begin);
  REQUIRE(slate != std::string::npos);
  const auto row = calls.substr(slate, calls.find("</tr>", slate) - slate);
  CAPTURE(row);
  CHECK(has(row, figures({"2 → 2", "0 → 1"})));  // counted and bagged
  CHECK(has(calls, "Advised with all that was known at the end"));
  CHECK(has(calls, "the best departure from Ford was"));
}

// Hill (1973), Ecology 54:427-432: order 0 is the number of kinds, order 2 is 1 / sum of p squared;
// eight and two of ten give 1 / (0.64 + 0.04) = 1.47, order 1 exp(0.5004) = 1.65 (by hand).
TEST_CASE("the report gives how varied the counts are, of orders 0, 1 and 2, and the ground") {
  const auto growth = section(debrief::report(afternoon().look_back()), "growth");
  CHECK(has(growth, "q = 0"));
  CHECK(has(growth, variety_of({{8, 2}}, 0, {"1.6", "1.5"})));
}

TEST_CASE("how varied the ground is takes no chosen sample, and takes patches between looks") {
  auto exercise = afternoon();
  for (const char* rock : {"marble", "quartzite", "slate"})
    exercise.say(17, sample(std::string("2") + rock[0], rock));
  CHECK(has(section(debrief::report(exercise.look_back()), "growth"),
            variety_of({{8, 2}}, 0, {"1.6", "1.5"})));
  exercise.say(22, protocol::Tally{{{"gneiss", 2}, {"slate", 8}}, 10, {}});
  const estimate::Looks looks{{8, 2}, {2, 8}};
  const double patchiness = estimate::patchiness(std::span(&looks, 1)).value();
  REQUIRE(patchiness > 0.1);
  const auto growth = section(debrief::report(exercise.look_back()), "growth");
  CHECK(has(growth, variety_of(looks, patchiness, {"2.0", "2.0"})));
  CHECK_FALSE(has(growth, variety_of(looks, 0, {"2.0", "2.0"})));
}
