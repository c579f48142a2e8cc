#include "console/debrief/made_up_exercise.hpp"

#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "console/debrief/hidden_truth.hpp"
#include "console/picture/fold.hpp"
#include "protocol/plan.hpp"

namespace stonecall::debrief {
namespace {

using protocol::EventPtr;

protocol::Plan plan() {
  std::ifstream in(STONECALL_REPLAY_LOGS "/varrow_rim.plan.json");
  return protocol::parse_plan(std::string(std::istreambuf_iterator<char>(in), {})).value();
}

/// Asked every `step` minutes; calls are sent at their minutes.
std::vector<EventPtr> walked(MadeUpExercise& exercise, double step = 1,
                             std::multimap<double, protocol::Body> calls = {}) {
  std::vector<EventPtr> events;
  for (double minute = 0; minute < 200; minute += step) {
    while (!calls.empty() && calls.begin()->first <= minute) {
      protocol::Event call;
      call.id.data[0] = static_cast<std::uint8_t>(calls.size());
      call.from = "WREN";
      call.body = calls.begin()->second;
      exercise.send(call, minute);
      calls.erase(calls.begin());
    }
    for (auto& event : exercise.until(minute)) events.push_back(std::move(event));
  }
  return events;
}

std::string text_of(const std::vector<EventPtr>& events) {
  std::string text;
  for (const auto& event : events) text += protocol::to_line(*event) + '\n';
  return text;
}

template <class Kind>
std::vector<std::pair<const protocol::Event*, const Kind*>> those(
    const std::vector<EventPtr>& events) {
  std::vector<std::pair<const protocol::Event*, const Kind*>> found;
  for (const auto& event : events)
    if (const auto* body = std::get_if<Kind>(&event->body)) found.emplace_back(event.get(), body);
  return found;
}

double minute_of(const protocol::Event& event) {
  return std::chrono::duration<double, std::ratio<60>>(event.at.instant - plan().start.instant)
      .count();
}

double left_first_stop(const std::vector<EventPtr>& events) {
  for (const auto& [event, departure] : those<protocol::Departure>(events))
    if (departure->station == plan().stations.front().station) return minute_of(*event);
  return std::numeric_limits<double>::infinity();
}

protocol::Body call(protocol::Says says) {
  protocol::Call said;
  said.text = "…";
  said.says = says;
  return said;
}

Difficulty obedient() {
  Difficulty difficulty;
  difficulty.obeys = 1;
  return difficulty;
}

TEST_CASE("a plan without stations or kinds cannot be made up, and says why") {
  CHECK_FALSE(cannot_be_made_up(plan()));
  auto without = plan();
  without.stations.clear();
  CHECK(cannot_be_made_up(without)->find("station") != std::string::npos);
  without = plan();
  without.vocabulary.resize(1);
  CHECK(cannot_be_made_up(without)->find("vocabulary") != std::string::npos);
}

TEST_CASE("the same seed makes the same exercise up, however often it is asked; another does not") {
  MadeUpExercise one(plan(), hard(), 7), again(plan(), hard(), 7), another(plan(), hard(), 8);
  const std::string events = text_of(walked(one));
  CHECK(events == text_of(walked(again, 0.125)));
  CHECK(events != text_of(walked(another)));
}

TEST_CASE(
    "every exercise reads as one: what is said is well formed, told once, and numbered once") {
  for (const auto& difficulty : {easy(), usual(), hard()}) {
    for (std::uint64_t seed = 1; seed <= 20; ++seed) {
      CAPTURE(seed);
      MadeUpExercise exercise(plan(), difficulty, seed);
      const auto events = walked(exercise);
      std::set<protocol::Uuid> ids;
      for (const auto& event : events) {
        CHECK(ids.insert(event->id).second);
        const auto read = protocol::parse_event(protocol::to_line(*event));
        REQUIRE(read);
        CHECK(*read == *event);
      }
      std::set<std::string> numbers, bags;
      for (const auto& [event, sample] : those<protocol::SampleTaken>(events)) {
        CHECK(numbers.insert(*sample->number).second);
        CHECK(bags.insert(*sample->bag).second);
      }
      CHECK(numbers.size() > 5);
      CHECK(those<protocol::Tally>(events).size() > 2);
    }
  }
}

TEST_CASE("the party is back in time, whatever the back room calls") {
  for (std::uint64_t seed = 1; seed <= 30; ++seed) {
    CAPTURE(seed);
    std::multimap<double, protocol::Body> calls;
    for (double minute = 1; minute < 150; minute += 4)
      calls.emplace(minute, call(protocol::Says::stay));
    MadeUpExercise exercise(plan(), obedient(), seed);
    const auto events = walked(exercise, 1, calls);
    CHECK(exercise.back_at_base());
    const auto arrivals = those<protocol::Arrival>(events);
    CHECK(arrivals.back().second->station == plan().base.station);
    CHECK(minute_of(*arrivals.back().first) <= plan().duration_minutes);
  }
}

TEST_CASE("a party that obeys leaves when it is told, stays when it is told, and counts for us") {
  MadeUpExercise alone(plan(), obedient(), 3), moved(plan(), obedient(), 3),
      kept(plan(), obedient(), 3), asked(plan(), obedient(), 3);
  const double by_itself = left_first_stop(walked(alone));
  const auto told = walked(moved, 1, {{8, call(protocol::Says::move_on)}});
  CHECK(left_first_stop(told) < by_itself - 3);
  CHECK(left_first_stop(walked(kept, 1, {{8, call(protocol::Says::stay)}})) > by_itself);

  const auto answers = those<protocol::CallAnswer>(told);
  REQUIRE(answers.size() == 2);
  CHECK(answers[0].second->answer == protocol::Answered::heard);
  CHECK(answers[1].second->answer == protocol::Answered::acting);
  CHECK(minute_of(*answers[0].first) >= 8 + plan().link.delay_seconds / 60);

  const auto counted = walked(asked, 1, {{8, call(protocol::Says::ask)}});
  const auto tallies = those<protocol::Tally>(counted);
  CHECK(std::any_of(tallies.begin(), tallies.end(), [](const auto& each) {
    const double minute = minute_of(*each.first);
    return minute > 8 && minute < 15 && each.second->total == 10;
  }));
}

TEST_CASE("a chance stated by the back room is nothing to the party") {
  MadeUpExercise alone(plan(), obedient(), 3), told(plan(), obedient(), 3);
  protocol::Call chance;
  chance.text = "60 %: another kind turns up here within ten minutes";
  chance.says = protocol::Says::free;
  chance.chance = 0.6;
  chance.outcome = "another kind turns up here within ten minutes";
  const auto events = walked(told, 1, {{8, chance}});
  CHECK(those<protocol::CallAnswer>(events).empty());
  CHECK(left_first_stop(events) == left_first_stop(walked(alone)));
}

TEST_CASE("told to document a sample first, it photographs and describes it") {
  MadeUpExercise exercise(plan(), obedient(), 4);
  protocol::Call first;
  first.text = "Before moving: document number one.";
  first.says = protocol::Says::get;
  first.sample = "1";
  const auto events = walked(exercise, 1, {{20, first}});
  std::set<protocol::View> views;
  for (const auto& [event, photo] : those<protocol::Photo>(events))
    if (photo->sample == "1" && minute_of(*event) > 20) views.insert(photo->view);
  CHECK(views.size() == plan().documentation.views.size());
  const auto samples = those<protocol::SampleTaken>(events);
  CHECK(std::any_of(samples.begin(), samples.end(), [](const auto& each) {
    return each.second->number == "1" && each.second->relation && each.second->like_it &&
           minute_of(*each.first) > 20;
  }));
}

TEST_CASE("one that does not obey says so, and does as it would have") {
  Difficulty stubborn;
  stubborn.obeys = 0;
  MadeUpExercise exercise(plan(), stubborn, 5);
  const auto events = walked(exercise, 1, {{8, call(protocol::Says::move_on)}});
  const auto answers = those<protocol::CallAnswer>(events);
  REQUIRE(answers.size() == 2);
  CHECK(answers[1].second->answer == protocol::Answered::declined);
  CHECK_FALSE(answers[1].second->text->empty());
}

TEST_CASE("what is said in an outage comes in after it, with the time at which it was said") {
  Difficulty difficulty;
  difficulty.outages = 3;
  difficulty.delay_seconds = 30;
  MadeUpExercise exercise(plan(), difficulty, 11);
  int late = 0;
  for (double minute = 0; minute < 200; minute += 0.25) {
    for (const auto& event : exercise.until(minute)) {
      const double delay = minute - minute_of(*event);
      CHECK(delay > 0.5 - 0.01);
      CHECK(delay < 5.1);
      late += delay > 1.2;
    }
  }
  CHECK(late > 0);
}

TEST_CASE("a terse party tells what only it can tell when it is asked") {
  Difficulty terse;
  terse.talk = Difficulty::Talk::terse;
  MadeUpExercise exercise(plan(), terse, 2);
  std::string number;
  double asked = 0;
  for (double minute = 0; minute < 200; minute += 1) {
    for (const auto& event : exercise.until(minute)) {
      const auto* sample = std::get_if<protocol::SampleTaken>(&event->body);
      if (!sample) continue;
      if (number.empty()) {
        CHECK_FALSE(sample->relation);
        CHECK_FALSE(sample->like_it);
        number = *sample->number;
        asked = minute;
        protocol::Event question;
        question.body = protocol::Question{"How does it lie?", {}, number, {}};
        exercise.send(question, minute);
      } else if (sample->number == number) {
        CHECK(sample->relation);
        CHECK(sample->buried);
        CHECK(sample->like_it);
        CHECK(minute < asked + 10);  // a sample may be in hand
        return;
      }
    }
  }
  FAIL("the question was not answered");
}

TEST_CASE("the truth of a station is shares of the whole, and can be kept and read again") {
  MadeUpExercise exercise(plan(), usual(), 1);
  std::vector<StationTruth> truth;
  for (const auto& station : plan().stations) {
    double sum = 0;
    auto& of = truth.emplace_back(StationTruth{station.station, {}});
    double before = 1;
    for (const auto& share : exercise.truth(station.station)) {
      CHECK(share.share <= before);
      before = share.share;
      sum += share.share;
      of.shares.push_back({share.rock, share.share * 100});
    }
    CHECK(sum == Approx(1));
  }
  CHECK(exercise.truth("nowhere").empty());
  CHECK(parse_truth(to_text(truth)).value() == truth);
  for (const char* wrong : {"", "{}", "[1]", R"([{"station":1,"shares":[]}])",
                            R"([{"station":"x","shares":[{"rock":"basalt","percent":101}]}])"})
    CHECK_FALSE(parse_truth(wrong));
}

}  // namespace
}  // namespace stonecall::debrief
