#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using std::chrono::minutes;
using test::clock;
using test::shared;

namespace {

picture::PicturePtr two_stays() {
  return picture::fold(std::vector{shared(1, 0, PlanGiven{test::small_plan()}, "BASE"),
                                   shared(2, 5, Arrival{"Ford"}), shared(3, 25, Departure{}),
                                   shared(4, 35, Arrival{"Terrace"}),
                                   shared(5, 50, Arrival{"Ford"})});
}

EventPtr received_late(std::uint32_t n, double at, double received) {
  Event event = test::event(n, at, VoiceNote{"still here", {}, {}});
  event.received = clock(received);
  return std::make_shared<const Event>(event);
}

}  // namespace

TEST_CASE("the party is at a station from its arrival to its departure") {
  const auto picture = two_stays();
  CHECK(picture::visit_at(*picture, clock(4).instant) == nullptr);
  REQUIRE(picture::visit_at(*picture, clock(5).instant) != nullptr);
  CHECK(picture::visit_at(*picture, clock(24).instant)->station == "Ford");
  CHECK(picture::visit_at(*picture, clock(25).instant) == nullptr);
  CHECK(picture::visit_at(*picture, clock(49).instant)->station == "Terrace");
}

TEST_CASE("while walking the last station is still known") {
  CHECK(picture::last_visit(*two_stays(), clock(30).instant)->station == "Ford");
  CHECK(picture::last_visit(*two_stays(), clock(1).instant) == nullptr);
}

TEST_CASE("time at a station adds up over all stays and stops at the moment asked for") {
  const auto picture = two_stays();
  CHECK(picture::time_at(*picture, "Ford", clock(15).instant) == minutes(10));
  CHECK(picture::time_at(*picture, "Ford", clock(40).instant) == minutes(20));
  CHECK(picture::time_at(*picture, "Ford", clock(57).instant) == minutes(27));
  CHECK(picture::time_at(*picture, "Nowhere", clock(57).instant) == minutes(0));
}

TEST_CASE("the exercise starts when the plan says so, without a plan at the first event") {
  CHECK(picture::start_of(*two_stays()) == clock(0).instant);
  CHECK(picture::start_of(*picture::fold(std::vector{shared(1, 7, Arrival{"Ford"})})) ==
        clock(7).instant);
}

TEST_CASE("a kind is first seen by the earliest sample, count, share or sighting") {
  const std::vector events{shared(1, 5, Arrival{"Ford"}),
                           shared(2, 9, Sighting{"slate", false, {}}),
                           shared(3, 12, Tally{{{"slate", 1}, {"marble", 0}}, 10, {}}),
                           shared(4, 10, Share{"gneiss", {0, 0}, {}, {}, {}}),
                           shared(5, 11, Sighting{"slate", true, "Terrace"})};
  const auto picture = picture::fold(events);
  CHECK(picture::first_seen(*picture, "slate") == clock(11).instant);
  CHECK(picture::first_seen(*picture, "slate", "Ford") == clock(12).instant);
  CHECK_FALSE(picture::first_seen(*picture, "marble"));
  CHECK_FALSE(picture::first_seen(*picture, "gneiss"));
}

TEST_CASE("the last word from the field is not the back room's own") {
  const std::vector events{shared(1, 0, PlanGiven{test::small_plan()}, "BASE"),
                           shared(2, 5, VoiceNote{"at the ford", {}, {}}, "FIELD-2"),
                           shared(3, 8, VoiceNote{"copy", {}, {}}, "BASE")};
  CHECK(picture::last_word(*picture::fold(events)) == clock(5).instant);
  CHECK_FALSE(picture::last_word(*picture::fold(std::vector{events[0], events[2]})));
}

TEST_CASE("what the field says counts as its word, whoever in the back room writes it down") {
  const std::vector events{shared(1, 0, PlanGiven{test::small_plan()}, "BASE"),
                           shared(2, 5, VoiceNote{"at the ford", "FIELD-2", {}}, "BASE"),
                           shared(3, 8, VoiceNote{"copy", "BASE", {}}, "FIELD-2")};
  CHECK(picture::last_word(*picture::fold(events)) == clock(5).instant);
}

TEST_CASE("what is done at a desk that the plan does not name is no word from the field") {
  std::vector events{shared(1, 0, PlanGiven{test::small_plan()}, "BASE"),
                     shared(2, 5, VoiceNote{"at the ford", {}, {}}, "FIELD-2"),
                     shared(3, 8, Remark{"look at this later", {}, true}, "WREN"),
                     shared(4, 9, Call{}, "WREN"), shared(5, 10, Retract{test::id(4), {}}, "WREN")};
  CHECK(picture::last_word(*picture::fold(events)) == clock(5).instant);
  // What the field said, typed by a scribe, is one; and so is a remark of the field.
  events.push_back(shared(6, 12, VoiceNote{"bag thirty one", {}, {}}, "WREN"));
  CHECK(picture::last_word(*picture::fold(events)) == clock(12).instant);
  events.push_back(shared(7, 14, Remark{"cold up here", {}, {}}, "FIELD-2"));
  CHECK(picture::last_word(*picture::fold(events)) == clock(14).instant);
}

TEST_CASE("words that came much later than the link's delay mark an outage") {
  const std::vector events{received_late(1, 1, 1.2), received_late(2, 10, 16),
                           received_late(3, 12, 16.1), received_late(4, 20, 20.3),
                           received_late(5, 30, 33)};
  const auto found = picture::outages(*picture::fold(events));
  REQUIRE(found.size() == 2);
  CHECK(found[0].from == clock(10).instant);
  CHECK(found[0].until == clock(16.1).instant);
  CHECK(found[1].from == clock(30).instant);
}

TEST_CASE("one late word among others that came in time is no outage") {
  const std::vector events{received_late(1, 10, 16), received_late(2, 12, 12.2),
                           received_late(3, 14, 14.2)};
  CHECK(picture::outages(*picture::fold(events)).empty());
}
