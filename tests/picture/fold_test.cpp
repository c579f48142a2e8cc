#include "console/picture/fold.hpp"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using test::clock;
using test::id;
using test::shared;

namespace {

using Events = std::vector<EventPtr>;

SampleTaken sample(std::string number, std::string rock) {
  SampleTaken taken;
  taken.number = std::move(number);
  taken.rock = std::move(rock);
  return taken;
}

Reading reading(std::uint32_t note, Fact fact, Outcome outcome = Outcome::accepted) {
  Reading made;
  made.note = id(note);
  made.fact = std::move(fact);
  made.outcome = outcome;
  return made;
}

Amend amend(std::uint32_t target, Json changes) {
  return {id(target), std::move(changes), std::nullopt};
}

bool has_flag(const picture::Picture& picture, picture::Flag::What what) {
  return std::ranges::find(picture.flags, what, &picture::Flag::what) != picture.flags.end();
}

/// An exercise with every way in which events can depend on each other.
Events tangled_exercise() {
  Events events{
      shared(1, -5, PlanGiven{test::small_plan()}, "BASE"),
      shared(2, 1, Arrival{"Ford"}),
      shared(3, 3, VoiceNote{"sample one, marble, bag thirty", {}, {}}),
      shared(4, 4, reading(3, sample("1", "marble")), "ADVISER"),
      shared(5, 5, Tally{{{"gneiss", 7}, {"slate", 2}}, 10, {}}),
      shared(6, 6, amend(5, {{"total", 12}})),
      shared(7, 7, sample("2", "slate")),
      shared(8, 2, Photo{"1", View::stereo_pair, {}}),  // late
      shared(9, 8, Retract{id(7), {}}),
      shared(10, 9, Retract{id(9), {}}),  // takes the retraction back
      shared(11, 10, VoiceNote{"scratch that, sample one is quartzite", {}, {}}, "FIELD-2"),
      shared(12, 11, reading(11, Amend{id(4), {{"rock", "quartzite"}}, {}}), "ADVISER"),
      shared(13, 12, Departure{}),
      shared(14, 20, Arrival{"Terrace"}),
      shared(15, 21, Share{"gneiss", {40, 60}, {}, {}, {}}, "FIELD-2"),
      shared(16, 22,
             amend(15, {{"at", "2027-05-18T09:10:00.000+02:00"}})),  // it was said at the Ford
      shared(17, 23, Question{"in place or fallen?", {}, {}, {}}, "BASE"),
      shared(18, 24, Answer{id(17), "fallen"}),
      shared(19, 25, Call{"Move on at 1:00.", Says::move_on, {}, {}, {}, {}, {}, {}, {}, {}},
             "BASE"),
      shared(20, 26, CallAnswer{id(19), Answered::heard, {}}),
      shared(21, 27, Sighting{"marble", true, {}}),
      shared(22, 28, NotUnderstood{"balloon"}),
      shared(23, 29, Amend{id(6), {{"why", "x"}}, {}}),  // an amendment of an amendment
      shared(24, 30, Retract{id(999), {}}),              // of nothing
      shared(25, 31,
             reading(11,
                     Amend{id(11), {{"text", "sample one is quartzite"}}, {}})),  // of its own note
      shared(26, 32, amend(14, {{"station", 5}})),  // makes it invalid
  };
  return events;
}

}  // namespace

TEST_CASE("no events give an empty picture") {
  CHECK(*picture::fold({}) == picture::Picture{});
}

TEST_CASE(
    "a note whose reading was accepted counts from the moment it was said, by whom it was said") {
  const Events events{shared(1, 10, VoiceNote{"mostly gneiss", "FIELD-2", {}}),
                      shared(2, 14, reading(1, Share{"gneiss", {60, 90}, {}, {}, {}}), "ADVISER")};
  const auto picture = picture::fold(events);
  REQUIRE(picture->shares.size() == 1);
  CHECK(picture->shares[0].origin.at == clock(10).instant);
  CHECK(picture->shares[0].caller == "FIELD-2");
  CHECK(picture->shares[0].low == Approx(0.6));
}

TEST_CASE("what two desks accept of the same words before they hear of each other counts once") {
  const auto tally_of = [](std::uint32_t begin, std::uint32_t end) {
    Reading made = reading(1, Tally{{{"gneiss", 7}}, 10, {}});
    made.words = Words{begin, end};
    return made;
  };
  Events events{
      shared(1, 1, VoiceNote{"of ten, seven gneiss. Again: of ten, seven gneiss", {}, {}}),
      shared(2, 2, tally_of(0, 20), "HERON"), shared(3, 3, tally_of(0, 20), "WREN")};
  CHECK(picture::fold(events)->looks.size() == 1);
  CHECK(picture::fold(events)->heard[0].readings.size() == 2);
  // Said twice it counts twice; and what one desk takes back the other still holds.
  events.push_back(shared(4, 4, tally_of(29, 49), "HERON"));
  CHECK(picture::fold(events)->looks.size() == 2);
  events.push_back(shared(5, 5, Retract{id(2), {}}));
  CHECK(picture::fold(events)->looks.size() == 2);
  events.push_back(shared(6, 6, Retract{id(3), {}}));
  CHECK(picture::fold(events)->looks.size() == 1);
}

TEST_CASE("a declined reading changes nothing but stays visible under its note") {
  const Events events{
      shared(1, 1, VoiceNote{"looks like marble", {}, {}}),
      shared(2, 2, reading(1, sample("1", "marble"), Outcome::declined), "ADVISER")};
  const auto picture = picture::fold(events);
  CHECK(picture->samples.empty());
  REQUIRE(picture->heard.size() == 1);
  REQUIRE(picture->heard[0].readings.size() == 1);
  CHECK(picture->heard[0].readings[0].reading.outcome == Outcome::declined);
}

TEST_CASE("statements about one field number add up to one sample") {
  SampleTaken bagged;
  bagged.number = "007";
  bagged.bag = "31";
  const Events events{shared(1, 1, Arrival{"Ford"}), shared(2, 2, sample("7", "slate")),
                      shared(3, 3, bagged)};
  const auto picture = picture::fold(events);
  REQUIRE(picture->samples.size() == 1);
  CHECK(picture->samples[0].rock == "slate");
  CHECK(picture->samples[0].bag == "31");
  CHECK(picture->samples[0].station == "Ford");
  CHECK(picture->samples[0].contradictions.empty());
}

TEST_CASE(
    "where statements about a sample contradict each other the later stands and it is flagged") {
  const Events events{shared(1, 2, sample("7", "slate")), shared(2, 3, sample("7", "marble"))};
  const auto picture = picture::fold(events);
  REQUIRE(picture->samples.size() == 1);
  CHECK(picture->samples[0].rock == "marble");
  REQUIRE(picture->samples[0].contradictions.size() == 1);
  CHECK(picture->samples[0].contradictions[0].before == "slate");
  CHECK(has_flag(*picture, picture::Flag::What::contradiction));
}

TEST_CASE("a size told differently is flagged with its unit") {
  SampleTaken first = sample("7", "slate"), second = first;
  first.size_mm = 300;
  second.size_mm = 262.5;
  const auto picture = picture::fold(Events{shared(1, 2, first), shared(2, 3, second)});
  REQUIRE(picture->flags.size() == 1);
  CHECK(picture->flags[0].text == "sample 7: size was 300 mm, now 262.5 mm");
}

TEST_CASE("two samples in one bag are flagged, and not merged") {
  SampleTaken first = sample("1", "slate");
  SampleTaken second = sample("2", "marble");
  first.bag = second.bag = "30";
  const auto picture = picture::fold(Events{shared(1, 1, first), shared(2, 2, second)});
  CHECK(picture->samples.size() == 2);
  CHECK(has_flag(*picture, picture::Flag::What::same_bag));
}

TEST_CASE("a photograph taken before any other word of a sample belongs to it") {
  const Events events{shared(1, 1, Photo{"4", View::down_sun, 210.0}),
                      shared(2, 2, sample("4", "slate"))};
  const auto picture = picture::fold(events);
  REQUIRE(picture->samples.size() == 1);
  CHECK(picture->samples[0].taken);
  CHECK(picture->samples[0].photos.size() == 1);
}

TEST_CASE("a sample that was only photographed is not taken") {
  const auto picture = picture::fold(Events{shared(1, 1, Photo{"4", View::after, {}})});
  REQUIRE(picture->samples.size() == 1);
  CHECK_FALSE(picture->samples[0].taken);
}

TEST_CASE("an amended event says what the last amendment made of it") {
  const Events events{shared(1, 1, Tally{{{"gneiss", 4}}, 10, {}}),
                      shared(2, 2, amend(1, {{"total", 8}})),
                      shared(3, 3, amend(1, {{"total", 9}, {"station", "Ford"}}))};
  const auto picture = picture::fold(events);
  REQUIRE(picture->looks.size() == 1);
  CHECK(picture->looks[0].total == 9);
  CHECK(picture->looks[0].station == "Ford");
  CHECK(picture->heard[0].amended);
}

TEST_CASE("an amendment that would make an event invalid is refused, said, and the event stands") {
  const Events events{shared(1, 1, Tally{{{"gneiss", 4}}, 10, {}}),
                      shared(2, 2, amend(1, {{"total", 3}}))};
  const auto picture = picture::fold(events);
  CHECK(picture->looks[0].total == 10);
  CHECK(has_flag(*picture, picture::Flag::What::amendment_refused));
}

TEST_CASE("a retracted event counts for nothing and stays visible") {
  const Events events{shared(1, 1, sample("1", "slate")),
                      shared(2, 2, Retract{id(1), "wrong net"})};
  const auto picture = picture::fold(events);
  CHECK(picture->samples.empty());
  CHECK(picture->heard[0].retracted);
}

TEST_CASE("what was taken back counts for nothing even where the server had the retraction first") {
  const auto picture = picture::fold(Events{shared(1, 2, Retract{id(2), "wrong net"}),
                                            shared(2, 1, Tally{{{"gneiss", 7}}, 10, "Ford"})});
  CHECK(picture->looks.empty());
  CHECK(picture->heard[0].retracted);
}

TEST_CASE("taking back a retraction restores the event") {
  const Events events{shared(1, 1, sample("1", "slate")), shared(2, 2, Retract{id(1), {}}),
                      shared(3, 3, Retract{id(2), {}})};
  CHECK(picture::fold(events)->samples.size() == 1);
}

TEST_CASE("arriving somewhere else ends the stay that nobody ended") {
  const Events events{shared(1, 1, Arrival{"Ford"}), shared(2, 21, Arrival{"Terrace"})};
  const auto picture = picture::fold(events);
  REQUIRE(picture->visits.size() == 2);
  CHECK(picture->visits[0].left == clock(21).instant);
  CHECK_FALSE(picture->visits[1].left);
}

TEST_CASE("leaving a place where the party was not is flagged and ends nothing") {
  const Events events{shared(1, 1, Arrival{"Ford"}), shared(2, 5, Departure{"Terrace"})};
  const auto picture = picture::fold(events);
  CHECK_FALSE(picture->visits[0].left);
  CHECK(has_flag(*picture, picture::Flag::What::departure_elsewhere));
}

TEST_CASE("setting out from the base needs no arrival there") {
  const Events events{shared(1, 0, PlanGiven{test::small_plan()}, "BASE"),
                      shared(2, 1, Departure{"BASE"}), shared(3, 9, Arrival{"Ford"})};
  const auto picture = picture::fold(events);
  CHECK(picture->flags.empty());
  CHECK(picture->visits.size() == 1);
}

TEST_CASE("a plan that comes after the party set out says from where") {
  const auto plan_at = [](int minute) {
    return shared(9, minute, PlanGiven{test::small_plan()}, "BASE");
  };
  const Events without{shared(1, 1, Departure{"BASE"}), shared(2, 9, Arrival{"Ford"})};
  CHECK(picture::fold(without)->flags.empty());
  CHECK(picture::fold(Events{without[0], without[1], plan_at(4)})->flags.empty());
  CHECK(picture::fold(Events{without[0], without[1], plan_at(15)})->flags.empty());
  // Where it is no base the plan shows that too.
  const Events other{shared(1, 1, Departure{"Terrace"}), shared(2, 9, Arrival{"Ford"}),
                     plan_at(15)};
  CHECK(has_flag(*picture::fold(other), picture::Flag::What::departure_elsewhere));
  // They can not have set out from two places.
  const Events twice{shared(1, 1, Departure{"BASE"}), shared(2, 3, Departure{"Terrace"})};
  CHECK(has_flag(*picture::fold(twice), picture::Flag::What::departure_elsewhere));
}

TEST_CASE("a late arrival puts what was found meanwhile at its station") {
  const Events in_time{shared(1, 1, Arrival{"Ford"}), shared(2, 5, sample("1", "slate")),
                       shared(3, 9, Arrival{"Terrace"})};
  const Events late{in_time[1], in_time[2], in_time[0]};
  CHECK(picture::fold(late)->samples[0].station == "Ford");
}

TEST_CASE("an event that comes twice counts once") {
  const auto tally = shared(1, 1, Tally{{{"gneiss", 4}}, 10, {}});
  CHECK(picture::fold(Events{tally, tally})->looks.size() == 1);
}

TEST_CASE("our own event takes its place in the order when the server's copy brings its number") {
  Event own = test::event(1, 5, sample("1", "slate"));
  own.seq.reset();
  picture::Fold fold;
  fold.add(std::make_shared<const Event>(own));
  CHECK(fold.picture()->samples.size() == 1);
  own.seq = 9;
  fold.add(std::make_shared<const Event>(own));
  CHECK(fold.picture()->samples.size() == 1);
  CHECK(fold.picture()->heard[0].event->seq == 9u);
}

TEST_CASE("an event of an unknown kind is kept, counted and changes nothing else") {
  const auto picture = picture::fold(Events{shared(1, 1, NotUnderstood{"balloon"})});
  CHECK(picture->not_understood == 1);
  CHECK(picture->heard.size() == 1);
}

TEST_CASE("what a store did not keep whole wants a look, and changes nothing else") {
  const auto picture = picture::fold(Events{shared(1, 1, protocol::Damaged{"{\"id\":"})});
  CHECK(has_flag(*picture, picture::Flag::What::lost));
  CHECK(picture->heard.size() == 1);
  CHECK(picture->not_understood == 0);
}

TEST_CASE("kinds stand in the order of the plan, then as they were first heard of") {
  const Events events{shared(1, 1, sample("1", "basalt")), shared(2, 2, sample("2", "slate")),
                      shared(3, 3, PlanGiven{test::small_plan()})};
  const auto picture = picture::fold(events);
  CHECK(picture->kinds ==
        std::vector<std::string>{"gneiss", "marble", "slate", "quartzite", "basalt"});
  CHECK(has_flag(*picture, picture::Flag::What::outside_vocabulary));
}

TEST_CASE("retractions that name each other come to rest") {
  const Events events{shared(1, 1, Retract{id(2), {}}), shared(2, 2, Retract{id(1), {}})};
  const auto picture = picture::fold(events);
  // The server had 1 first, so 2 may take it back and not the other way round.
  CHECK(picture->heard[0].retracted);
  CHECK_FALSE(picture->heard[1].retracted);
}

TEST_CASE("the picture does not depend on the order in which events arrive") {
  Events events = tangled_exercise();
  const auto in_order = picture::fold(events);
  CHECK(in_order->samples.size() == 2);
  CHECK(in_order->samples[0].rock == "quartzite");
  CHECK(in_order->shares[0].station == "Ford");

  const auto seed = GENERATE(range(0u, 300u));
  std::mt19937 random(seed);
  std::ranges::shuffle(events, random);
  CAPTURE(seed);
  CHECK(*picture::fold(events) == *in_order);

  SECTION("nor on when it was looked at meanwhile") {
    picture::Fold fold;
    for (const auto& event : events) {
      fold.add(event);
      if (random() % 3 == 0) fold.picture();
    }
    CHECK(*fold.picture() == *in_order);
  }
}

TEST_CASE("late events among many give the same picture as in order", "[long]") {
  // Long enough for checkpoints to be made, thinned and thrown away.
  std::mt19937 random(7);
  Events events;
  for (std::uint32_t n = 1; n <= 3000; ++n) {
    const double minute = n / 20.0;
    switch (random() % 4) {
      case 0:
        events.push_back(shared(n, minute, Arrival{random() % 2 ? "Ford" : "Terrace"}));
        break;
      case 1:
        events.push_back(shared(n, minute, sample(std::to_string(random() % 400), "slate")));
        break;
      case 2:
        events.push_back(shared(n, minute, Tally{{{"gneiss", 4}}, 10, {}}));
        break;
      default:
        events.push_back(
            shared(n, minute, Retract{id(1 + static_cast<std::uint32_t>(random() % n)), {}}));
        break;
    }
  }
  const auto in_order = picture::fold(events);
  for (std::size_t i = 0; i + 40 < events.size(); i += 1 + random() % 40) {
    std::swap(events[i], events[i + random() % 40]);
  }
  picture::Fold fold;
  for (const auto& event : events) {
    fold.add(event);
    if (random() % 16 == 0) fold.picture();
  }
  CHECK(*fold.picture() == *in_order);
}

TEST_CASE("what was known by a moment is what had been received by then") {
  Event late = test::event(1, 5, Arrival{"Ford"});
  late.received = clock(12);
  const Event unnoted = test::event(2, 6, Departure{});
  const Events events{std::make_shared<const Event>(late), std::make_shared<const Event>(unnoted)};
  CHECK(picture::known_by(events, clock(4).instant).empty());
  CHECK(picture::known_by(events, clock(6).instant).size() == 1);
  CHECK(picture::known_by(events, clock(12).instant).size() == 2);
}

TEST_CASE(
    "readings are empty while there is none among them, also once they were to be written to") {
  picture::Readings readings;
  CHECK(readings.empty());
  readings.change();
  CHECK(readings.empty());
  CHECK(readings.size() == 0);
}
