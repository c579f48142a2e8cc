#include "console/picture/alterations.hpp"

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using picture::Alteration;
using picture::MemberChange;
using test::clock;
using test::id;
using test::shared;
using Events = std::vector<EventPtr>;
using What = Alteration::What;

namespace {

Amend changing(std::uint32_t target, Json changes, std::optional<std::string> why = {}) {
  return {id(target), std::move(changes), std::move(why)};
}

}  // namespace

TEST_CASE("of an amended event it is known who changed what, from what to what, when and why") {
  const Events events{shared(1, 1, Tally{{{"gneiss", 7}}, 10, {}}, "FIELD-1"),
                      shared(2, 4, changing(1, {{"total", 12}}, "misheard"), "WREN"),
                      shared(3, 6, changing(1, {{"total", 13}, {"station", "Ford"}}), "LARK")};
  const auto done = picture::alterations(*picture::fold(events), id(1));
  REQUIRE(done.size() == 2);
  CHECK(done[0].what == What::amended);
  CHECK(done[0].by.from == "WREN");
  CHECK(done[0].by.at == clock(4).instant);
  CHECK(done[0].why == "misheard");
  CHECK(done[0].changes == std::vector<MemberChange>{{"total", 10, 12}});
  CHECK(done[1].changes ==
        std::vector<MemberChange>{{"total", 12, 13}, {"station", Json(), "Ford"}});
}

TEST_CASE("an amendment that was taken back stays in the history and is not built upon") {
  const Events events{
      shared(1, 1, Tally{{{"gneiss", 7}}, 10, {}}), shared(2, 2, changing(1, {{"total", 12}})),
      shared(3, 3, Retract{id(2), "no, ten"}, "WREN"), shared(4, 4, changing(1, {{"total", 11}}))};
  const auto done = picture::alterations(*picture::fold(events), id(1));
  REQUIRE(done.size() == 3);
  CHECK_FALSE(done[0].in_force);
  CHECK(done[1].what == What::undone);
  CHECK(done[1].why == "no, ten");
  CHECK(done[2].changes == std::vector<MemberChange>{{"total", 10, 11}});
}

TEST_CASE("a retraction and what took it back are in the history of the event") {
  const Events events{shared(1, 1, Arrival{"Ford"}), shared(2, 2, Retract{id(1), "not there yet"}),
                      shared(3, 3, Retract{id(2), {}})};
  const auto done = picture::alterations(*picture::fold(events), id(1));
  REQUIRE(done.size() == 2);
  CHECK(done[0].what == What::retracted);
  CHECK(done[0].why == "not there yet");
  CHECK_FALSE(done[0].in_force);
  CHECK(done[1].what == What::undone);
}

TEST_CASE("the reading of a note has a history of its own, corrections that were spoken included") {
  SampleTaken sample;
  sample.number = "1";
  sample.bag = "31";
  Reading read{id(1), Outcome::accepted, sample, {}, {}};
  Reading spoken{id(3), Outcome::accepted, changing(2, {{"rock", "slate"}}), {}, {}};
  const Events events{
      shared(1, 1, VoiceNote{"sample one, bag thirty two", {}, {}}), shared(2, 2, read, "WREN"),
      shared(3, 5, VoiceNote{"sample one is slate", {}, {}}), shared(4, 6, spoken, "WREN"),
      shared(5, 7, changing(2, {{"bag", "32"}}), "LARK")};
  const auto picture = picture::fold(events);
  const auto done = picture::alterations(*picture, id(2));
  REQUIRE(done.size() == 2);
  CHECK(done[0].changes == std::vector<MemberChange>{{"rock", Json(), "slate"}});
  CHECK(done[1].changes == std::vector<MemberChange>{{"bag", "31", "32"}});
  CHECK(picture::alterations(*picture, id(1)).empty());
  CHECK(picture->samples[0].bag == "32");
}

TEST_CASE("an amendment that could not be worked in says why") {
  const Events events{shared(1, 1, Tally{{{"gneiss", 7}}, 10, {}}),
                      shared(2, 2, changing(1, {{"total", 3}}))};
  const auto done = picture::alterations(*picture::fold(events), id(1));
  REQUIRE(done.size() == 1);
  CHECK(done[0].refused.find("total") != std::string::npos);
}

TEST_CASE("an event that is not there and one that nobody altered have no history") {
  const Events events{shared(1, 1, Arrival{"Ford"})};
  CHECK(picture::alterations(*picture::fold(events), id(1)).empty());
  CHECK(picture::alterations(*picture::fold(events), id(9)).empty());
}

TEST_CASE("a later plan replaces the earlier one from its time on, and its line knows which") {
  auto second = test::small_plan();
  second.stations[0].allotted_minutes += 10;
  Events events{shared(1, -5, PlanGiven{test::small_plan()}, "BASE"), shared(2, 1, Arrival{"Ford"}),
                shared(3, 5, PlanGiven{second}, "WREN")};
  auto picture = picture::fold(events);
  CHECK(picture->plan == second);
  CHECK_FALSE(picture->heard[0].replaced);
  REQUIRE(picture->heard[2].replaced);
  CHECK(picture->heard[2].replaced->id == id(1));
  SECTION("taken back, the earlier plan holds again") {
    events.push_back(shared(4, 6, Retract{id(3), {}}));
    events.push_back(shared(5, 7, PlanGiven{second}, "WREN"));
    picture = picture::fold(events);
    CHECK(picture->heard.back().replaced->id == id(1));
  }
}
