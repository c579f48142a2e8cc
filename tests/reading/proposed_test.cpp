#include "console/reading/proposed.hpp"

#include <random>
#include <set>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall::reading;
using namespace stonecall::test;
namespace picture = stonecall::picture;
namespace protocol = stonecall::protocol;

namespace {

EventPtr plan() {
  return shared(1, 0, protocol::PlanGiven{small_plan()});
}

EventPtr taken(std::uint32_t n, double minutes, const std::string& number, const std::string& bag,
               const std::string& rock) {
  protocol::SampleTaken sample;
  sample.number = number;
  if (!bag.empty()) sample.bag = bag;
  if (!rock.empty()) sample.rock = rock;
  return shared(n, minutes, sample);
}

/// Reads a note spoken at minute 30 after these events.
std::vector<Proposed> heard(const std::string& text, std::vector<EventPtr> events = {plan()}) {
  const picture::PicturePtr known = picture::fold(events);
  const Context context = context_at(*known, clock(30).instant);
  const Reader reader(known->plan ? vocabulary_of(*known->plan) : Vocabulary{});
  return proposed(reader.read(text, context), text, context, *known, clock(30).instant);
}

template <class F>
std::vector<F> all(const std::vector<Proposed>& proposals) {
  std::vector<F> facts;
  for (const Proposed& each : proposals) {
    if (const auto* fact = std::get_if<F>(&each.fact)) facts.push_back(*fact);
  }
  return facts;
}

}  // namespace

TEST_CASE("all that is said of a sample becomes one statement about it") {
  const auto proposals =
      heard("Sample nine, marble, bag thirty, fist sized, half buried, white, because it fizzes.");
  REQUIRE(proposals.size() == 1);
  const auto& sample = std::get<protocol::SampleTaken>(proposals[0].fact);
  CHECK(sample.number == "9");
  CHECK(sample.bag == "30");
  CHECK(sample.rock == "marble");
  CHECK(sample.size_mm == 100);
  CHECK(sample.buried == protocol::PercentRange{40, 60});
  CHECK(sample.colour == "white");
  CHECK_FALSE(sample.station);
}

TEST_CASE("a proposal says which words it came from and is as sure as its least sure part") {
  const std::string text = "Right. Sample nine, marble, bag thirty. Lovely view.";
  const auto proposals = heard(text);
  REQUIRE(proposals.size() == 1);
  const auto [begin, end] = proposals[0].words;
  CHECK(text.substr(begin, end - begin) == "Sample nine, marble, bag thirty");
  CHECK(proposals[0].sureness == 0.9);
}

TEST_CASE("a kind in a share, a tally or a sample is no sighting besides, another one is") {
  auto proposals = heard("about forty percent marble, and some slate");
  REQUIRE(all<protocol::Share>(proposals).size() == 1);
  CHECK(all<protocol::Share>(proposals)[0].percent == protocol::PercentRange{30, 50});
  CHECK(all<protocol::Share>(proposals)[0].best_percent == 40);
  CHECK(all<protocol::Sighting>(proposals) == std::vector{protocol::Sighting{"slate", true, {}}});

  proposals = heard("ten rocks, seven gneiss, three slate");
  CHECK(all<protocol::Sighting>(proposals).empty());
  REQUIRE(all<protocol::Tally>(proposals).size() == 1);
  const auto tally = all<protocol::Tally>(proposals)[0];
  CHECK(tally.total == 10);
  CHECK(tally.counts == std::vector<protocol::RockCount>{{"gneiss", 7}, {"slate", 3}});
}

TEST_CASE("a kind that is not here is a sighting of its absence") {
  CHECK(all<protocol::Sighting>(heard("no quartzite so far")) ==
        std::vector{protocol::Sighting{"quartzite", false, {}}});
}

TEST_CASE("kinds that the plan does not list are left out, unless it lists none") {
  CHECK(heard("some andesite here").empty());
  auto bare = small_plan();
  bare.vocabulary.clear();
  CHECK(all<protocol::Sighting>(
            heard("some andesite here", {shared(1, 0, protocol::PlanGiven{bare})})) ==
        std::vector{protocol::Sighting{"andesite", true, {}}});
  CHECK(all<protocol::Sighting>(heard("some andesite here", {})).size() == 1);
}

TEST_CASE("a note without a number speaks of the last sample, unless a rock was just picked up") {
  const std::vector<EventPtr> events{plan(), taken(2, 20, "8", "29", "slate")};
  auto described = all<protocol::SampleTaken>(heard("it was half buried", events));
  REQUIRE(described.size() == 1);
  CHECK(described[0].number == "8");
  CHECK(described[0].buried == protocol::PercentRange{40, 60});
  CHECK_FALSE(described[0].rock);

  auto fresh = all<protocol::SampleTaken>(heard("picked up a marble, half buried", events));
  REQUIRE(fresh.size() == 1);
  CHECK_FALSE(fresh[0].number);
  CHECK(fresh[0].rock == "marble");

  CHECK(heard("it was half buried").empty());  // nobody knows which rock
}

TEST_CASE("a note that names only a bag speaks of the sample in it, not of the last one") {
  const std::vector<EventPtr> events{plan(), taken(2, 10, "7", "28", "marble"),
                                     taken(3, 20, "8", "29", "slate")};
  const auto only = [&](const std::string& text) {
    const auto said = all<protocol::SampleTaken>(heard(text, events));
    REQUIRE(said.size() == 1);
    return said[0];
  };
  const auto fresh = only("bag thirty one, fist size marble, half buried");
  CHECK_FALSE(fresh.number);
  CHECK(fresh.bag == "31");
  CHECK(fresh.rock == "marble");
  const auto earlier = only("bag twenty eight was half buried");
  CHECK_FALSE(earlier.number);
  CHECK(earlier.bag == "28");
  CHECK_FALSE(earlier.rock);
  CHECK(only("bag twenty nine was half buried").number == "8");
}

TEST_CASE("the bag named after a sample that has none yet is that sample's") {
  const std::vector<EventPtr> events{plan(), taken(2, 10, "7", "28", "marble"),
                                     taken(3, 20, "8", "", "slate")};
  const auto said = all<protocol::SampleTaken>(heard("that goes into bag thirty one", events));
  REQUIRE(said.size() == 1);
  CHECK(said[0].number == "8");
  CHECK(said[0].bag == "31");
}

TEST_CASE("photographs are of the sample that is named, else of the last one") {
  const std::vector<EventPtr> events{plan(), taken(2, 20, "8", "29", "slate")};
  const auto photos = all<protocol::Photo>(heard("stereo and down sun done", events));
  REQUIRE(photos.size() == 2);
  CHECK(photos[0].sample == "8");
  CHECK(photos[0].view == protocol::View::stereo_pair);
  CHECK(photos[1].view == protocol::View::down_sun);
  CHECK(all<protocol::Photo>(heard("after shot of sample seven taken", events)).at(0).sample ==
        "7");
  CHECK_FALSE(all<protocol::Photo>(heard("stereo done")).at(0).sample);
}

TEST_CASE("an arrival needs its station, a departure takes it from where the party was") {
  CHECK(all<protocol::Arrival>(heard("We're at Terrace, clock running.")) ==
        std::vector{protocol::Arrival{"Terrace"}});
  CHECK(all<protocol::Arrival>(heard("clock running")).empty());
  const std::vector<EventPtr> at_ford{plan(), shared(2, 10, protocol::Arrival{"Ford"})};
  CHECK(all<protocol::Departure>(heard("Okay, we're off.", at_ford)) ==
        std::vector{protocol::Departure{"Ford"}});
  CHECK(all<protocol::Departure>(heard("Okay, we're off.")) ==
        std::vector{protocol::Departure{std::nullopt}});
}

TEST_CASE("a question to the back room keeps the words of the note") {
  const auto questions = all<protocol::Question>(heard("Do you want another slate?"));
  REQUIRE(questions.size() == 1);
  CHECK(questions[0].text == "Do you want another slate?");
  CHECK(questions[0].to == protocol::Side::back_room);
}

TEST_CASE("a bag or a rock put right amends the last statement that gave it") {
  const std::vector<EventPtr> events{plan(), taken(2, 10, "8", "29", "slate"),
                                     taken(3, 12, "8", "", "marble")};
  const std::string text = "Correction, bag thirty one, not twenty nine.";
  auto amends = all<protocol::Amend>(heard(text, events));
  REQUIRE(amends.size() == 1);
  CHECK(amends[0].target == id(2));
  CHECK(amends[0].changes == protocol::Json{{"bag", "31"}});
  CHECK(amends[0].why == text);

  amends = all<protocol::Amend>(heard("Sample eight is gneiss, not marble.", events));
  REQUIRE(amends.size() == 1);
  CHECK(amends[0].target == id(3));
  CHECK(amends[0].changes == protocol::Json{{"rock", "gneiss"}});
}

TEST_CASE("a field number put right is one proposal for each statement about the sample so far") {
  const std::vector<EventPtr> events{plan(), taken(2, 10, "8", "29", "slate"),
                                     taken(3, 12, "8", "", ""),
                                     taken(4, 40, "8", "33", "marble")};  // taken after the note
  const auto proposals = heard("Correction, that was sample nine.", events);
  REQUIRE(proposals.size() == 1);
  const auto facts = facts_of(proposals[0]);
  REQUIRE(facts.size() == 2);
  const auto& first = std::get<protocol::Amend>(facts[0]);
  const auto& second = std::get<protocol::Amend>(facts[1]);
  CHECK(first.target == id(2));
  CHECK(second.target == id(3));
  CHECK(first.changes == protocol::Json{{"number", "9"}});
  CHECK(second.changes == first.changes);
}

TEST_CASE("a field number put right in hundreds of statements is one fact, and ids of the others") {
  std::vector<EventPtr> events{plan()};
  for (std::uint32_t n = 2; n < 302; ++n) events.push_back(taken(n, n / 30.0, "8", "", ""));
  const auto proposals = heard("Correction, that was sample nine.", events);
  REQUIRE(proposals.size() == 1);
  CHECK(proposals[0].also.empty());
  CHECK(proposals[0].also_amends.size() == 299);
  const auto facts = facts_of(proposals[0]);
  REQUIRE(facts.size() == 300);
  std::set<protocol::Uuid> targets;
  for (const auto& fact : facts) targets.insert(std::get<protocol::Amend>(fact).target);
  CHECK(targets.size() == 300);
  CHECK(std::get<protocol::Amend>(facts[299]).why == "Correction, that was sample nine.");
}

TEST_CASE(
    "what was read from a note is put right like what was entered; a declined reading is not") {
  const auto outcome =
      GENERATE(protocol::Outcome::accepted, protocol::Outcome::edited, protocol::Outcome::declined);
  protocol::SampleTaken sample;
  sample.number = "8";
  sample.bag = "29";
  const std::vector<EventPtr> events{
      plan(), shared(2, 10, protocol::VoiceNote{"Sample eight, bag twenty nine.", {}, {}}),
      shared(3, 10, protocol::Reading{id(2), outcome, sample, {}, {}}, "BASE")};
  const auto amends = all<protocol::Amend>(
      heard("Sample eight, correction, it's in bag thirty one, not twenty nine.", events));
  if (outcome == protocol::Outcome::declined) {
    CHECK(amends.empty());
  } else {
    REQUIRE(amends.size() == 1);
    CHECK(amends[0].target == id(3));
  }
}

TEST_CASE("a station put right amends the last arrival; without one nothing is proposed") {
  const std::vector<EventPtr> events{plan(), shared(2, 5, protocol::Arrival{"Ford"}),
                                     shared(3, 20, protocol::Arrival{"Ford"})};
  const std::string text = "Correction, we're at Terrace, not Ford.";
  const auto amends = all<protocol::Amend>(heard(text, events));
  REQUIRE(amends.size() == 1);
  CHECK(amends[0].target == id(3));
  CHECK(amends[0].changes == protocol::Json{{"station", "Terrace"}});
  CHECK(heard(text).empty());
}

TEST_CASE("a correction that fits no earlier statement is left out") {
  CHECK(all<protocol::Amend>(heard("Correction, bag thirty one, not thirty.")).empty());
}

TEST_CASE("chatter, nothing and bytes that are no text give no proposal") {
  for (const std::string& text : {std::string(), std::string("Lovely morning for it."),
                                  std::string("\xFF\xFE\x00\x80", 4), std::string(8192, ' ')})
    CHECK(heard(text).empty());
}

TEST_CASE("facts that nobody can join are left out instead of joined wrongly") {
  const picture::PicturePtr known = picture::fold(std::vector{plan()});
  const auto joined = [&](std::vector<Proposal> facts) {
    return proposed(facts, "0123456789", {}, *known, clock(30).instant);
  };
  CHECK(joined({}).empty());
  CHECK(joined({{RocksLookedAt{10}, {0, 3}, 0.9}}).empty());        // a total without kinds
  CHECK(joined({{AtStation{"Ford", true}, {0, 3}, 0.9}}).empty());  // neither arrives nor leaves
  CHECK(joined({{LongestSide{80}, {0, 3}, 0.9}}).empty());          // of no known rock
}

TEST_CASE("a tally never counts more than it looked at, and a kind once") {
  const picture::PicturePtr known = picture::fold(std::vector{plan()});
  const auto made = proposed({{RocksLookedAt{5}, {0, 2}, 0.9},
                              {RockCounted{"slate", 4, true}, {2, 4}, 0.8},
                              {RockCounted{"gneiss", 3, true}, {4, 6}, 0.9},
                              {RockCounted{"slate", 2, true}, {6, 8}, 0.9}},
                             "0123456789", {}, *known, clock(30).instant);
  REQUIRE(made.size() == 1);
  CHECK(std::get<protocol::Tally>(made[0].fact) ==
        protocol::Tally{{{"slate", 4}, {"gneiss", 3}}, 7, {}});
  CHECK(made[0].words == protocol::Words{0, 8});
  CHECK(made[0].sureness == 0.8);
}

TEST_CASE("what is known at a moment is what was said up to then") {
  const std::vector<EventPtr> events{plan(), shared(2, 10, protocol::Arrival{"Ford"}),
                                     taken(3, 15, "8", "29", "slate"),
                                     taken(4, 25, "9", "30", "marble")};
  const picture::PicturePtr known = picture::fold(events);
  const Context early = context_at(*known, clock(20).instant);
  CHECK(early.station == "Ford");
  CHECK(early.last_sample == "8");
  CHECK(early.last_bag == "29");
  const Context late = context_at(*known, clock(30).instant);
  CHECK(late.last_sample == "9");
  CHECK(late.samples.contains("8"));
  CHECK(late.samples.contains("9"));
  CHECK_FALSE(late.samples.contains("10"));
  CHECK(context_at(*known, clock(5).instant).station.empty());
}

TEST_CASE("who is in the field, and whether the last rock has a number, is known for a note") {
  protocol::Plan people = small_plan();
  people.people = {{"Ida", protocol::Side::field, 10}, {"WREN", protocol::Side::back_room, 10}};
  const EventPtr given = shared(1, 0, protocol::PlanGiven{people});
  protocol::SampleTaken loose;
  loose.rock = "slate";
  const auto at_twenty = [&](const std::vector<EventPtr>& events) {
    return context_at(*picture::fold(events), clock(20).instant);
  };
  CHECK(at_twenty({given}).party == std::vector<std::string>{"ida"});
  CHECK_FALSE(at_twenty({given, taken(2, 5, "8", "29", "slate")}).unnumbered);
  CHECK(at_twenty({given, taken(2, 5, "8", "29", "slate"), shared(3, 10, loose)}).unnumbered);
}

TEST_CASE(
    "prepared for all moments of a picture, what is known at each is what was said up to it") {
  // Samples with and without number and bag, in and out of order, some only photographed.
  std::mt19937 random(7);
  std::vector<EventPtr> events{plan()};
  const auto some = [&](unsigned of) { return std::to_string(random() % of + 1); };
  for (std::uint32_t n = 2; n < 60; ++n) {
    const auto minute = static_cast<double>(random() % 40);
    if (random() % 4 == 0) {
      protocol::Photo photo;
      photo.sample = some(30);
      events.push_back(shared(n, minute, photo));
    } else {
      events.push_back(taken(n, minute, random() % 5 == 0 ? "" : some(30),
                             random() % 3 == 0 ? "" : some(90), "slate"));
    }
  }
  const picture::PicturePtr known = picture::fold(events);
  const Contexts contexts(*known);
  for (int minute = 0; minute <= 41; ++minute) {
    CAPTURE(minute);
    const auto now = clock(minute).instant;
    const Context context = contexts.at(*known, now);
    std::string last_sample, last_bag;
    picture::Instant sample_at{}, bag_at{};
    std::set<std::string> numbers;
    for (const auto& sample : known->samples) {
      if (!sample.taken || sample.first > now) continue;
      if (!sample.number.empty()) numbers.insert(sample.number);
      if (!sample.number.empty() && sample.first >= sample_at)
        last_sample = sample.number, sample_at = sample.first;
      if (!sample.bag.empty() && sample.first >= bag_at)
        last_bag = sample.bag, bag_at = sample.first;
    }
    CHECK(context.last_sample == last_sample);
    CHECK(context.last_bag == last_bag);
    for (int number = 1; number <= 30; ++number)
      CHECK(context.samples.contains(std::to_string(number)) ==
            numbers.contains(std::to_string(number)));
  }
}

TEST_CASE("the words of a plan include its base as a place") {
  const Vocabulary words = vocabulary_of(small_plan());
  CHECK(words.rocks.size() == 4);
  REQUIRE(words.stations.size() == 3);
  CHECK(words.stations.back().name == "BASE");
}
