#include "console/picture/senders.hpp"

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

using namespace stonecall;
using namespace stonecall::protocol;
using namespace std::chrono_literals;
using test::clock;

namespace {

/// Said at `minutes` by the sender's clock, with the server `seconds` later by the server's.
EventPtr took(std::uint32_t n, double minutes, double seconds, std::string from = "FIELD-1") {
  Event event = test::event(n, minutes, VoiceNote{"still here", {}, {}}, std::move(from));
  event.received = event.at;
  event.received->instant += Milliseconds(static_cast<std::int64_t>(seconds * 1000));
  return std::make_shared<const Event>(std::move(event));
}

/// The plan's link takes ten seconds.
picture::PicturePtr with_plan(std::vector<EventPtr> events) {
  Plan plan = test::small_plan();
  plan.link.delay_seconds = 10;
  plan.people = {{"FIELD-1", Side::field}, {"WREN", Side::back_room}};
  events.push_back(test::shared(1000, 0, PlanGiven{plan}, "BASE"));
  return picture::fold(events);
}

const picture::Sender& of(const std::vector<picture::Sender>& all, const std::string& name) {
  const auto found = std::ranges::find(all, name, &picture::Sender::name);
  REQUIRE(found != all.end());
  return *found;
}

}  // namespace

TEST_CASE("of each sender the last word, the usual and the longest delay are known") {
  const auto all = picture::senders(*with_plan(
      {took(1, 1, 11), took(2, 2, 12), took(3, 3, 400), took(4, 9, 13), took(5, 4, 1, "WREN")}));
  const auto& field = of(all, "FIELD-1");
  CHECK(field.field);
  CHECK(field.words == 4);
  CHECK(field.last == clock(9).instant);
  CHECK(field.typical == 13s);
  CHECK(field.longest == 400s);
  CHECK_FALSE(of(all, "WREN").field);
  CHECK(all.front().name == "FIELD-1");
}

TEST_CASE("a clock agrees where words take what the link takes, whatever held some of them up") {
  const auto all = picture::senders(
      *with_plan({took(1, 1, 9), took(2, 2, 10), took(3, 3, 90), took(4, 4, 240)}));
  CHECK(of(all, "FIELD-1").clock_ahead == 0s);
}

TEST_CASE(
    "words that seem to come too quickly tell of a clock that is ahead, others of one behind") {
  const auto ahead = picture::senders(
      *with_plan({took(1, 1, -35), took(2, 2, -33), took(3, 3, 60), took(4, 4, 70)}));
  CHECK(of(ahead, "FIELD-1").clock_ahead == 43s);
  const auto behind =
      picture::senders(*with_plan({took(1, 1, 130), took(2, 2, 131), took(3, 3, 135)}));
  CHECK(of(behind, "FIELD-1").clock_ahead == -120s);
  // Who sits beside the server has no link to wait for.
  const auto inside = picture::senders(
      *with_plan({took(1, 1, 0, "WREN"), took(2, 2, 0, "WREN"), took(3, 3, 1, "WREN")}));
  CHECK(of(inside, "WREN").clock_ahead == 0s);
}

TEST_CASE("a scribe whom the plan does not name has a right clock, and no link to wait for") {
  const auto all = picture::senders(*with_plan(
      {took(1, 1, 0, "RAIL"), took(2, 2, 0, "RAIL"), took(3, 3, 1, "RAIL"),
       took(4, 1, 11, "PHONE-7"), took(5, 2, 10, "PHONE-7"), took(6, 3, 10, "PHONE-7"),
       took(7, 1, -20, "PHONE-8"), took(8, 2, -20, "PHONE-8"), took(9, 3, -20, "PHONE-8")}));
  CHECK(of(all, "RAIL").clock_ahead == 0s);
  CHECK(of(all, "RAIL").field);  // notes what the field says
  CHECK(of(all, "PHONE-7").clock_ahead == 0s);
  CHECK(of(all, "PHONE-8").clock_ahead == 20s);
}

TEST_CASE("who only sends calls is not of the field, also where the plan does not name them") {
  Call call;
  call.text = "stay";
  const auto picture = with_plan(
      {test::shared(1, 1, VoiceNote{"here", {}, {}}, "FIELD-1"), test::shared(2, 2, call, "RAIL")});
  CHECK_FALSE(of(picture::senders(*picture), "RAIL").field);
  CHECK(picture::last_word(*picture) == clock(1).instant);
}

TEST_CASE("two words are too few to speak of a clock, and none received says nothing of delay") {
  const auto all =
      picture::senders(*with_plan({took(1, 1, -35), took(2, 2, -35),
                                   test::shared(3, 3, VoiceNote{"from paper", {}, {}}, "SCRIBE")}));
  CHECK_FALSE(of(all, "FIELD-1").clock_ahead);
  CHECK_FALSE(of(all, "SCRIBE").typical);
}

TEST_CASE("a time put right afterwards does not change what the clock said") {
  Event amend = test::event(9, 20, Amend{test::id(1), Json{{"at", to_string(clock(0.5))}}, {}});
  const auto all = picture::senders(*with_plan(
      {took(1, 1, 10), took(2, 2, 10), took(3, 3, 10), std::make_shared<const Event>(amend)}));
  CHECK(of(all, "FIELD-1").clock_ahead == 0s);
}
