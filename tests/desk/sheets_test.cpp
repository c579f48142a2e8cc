#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/alteration_text.hpp"
#include "console/desk/link_text.hpp"
#include "console/desk/plan_changes.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall;
using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

namespace {

desk::View whole_view(const std::vector<protocol::EventPtr>& events) {
  desk::View view = view_of(events, events.back()->at.instant);
  view.now = view.plan()->start.instant + 72min;
  return view;
}

/// The exercise as it was known 72 minutes into it.
std::vector<protocol::EventPtr> known_then() {
  auto all = hallow_beck();
  auto start = picture::start_of(*picture::fold(all));
  return picture::known_by(all, start + 72min);
}

/// A desk on the invented exercise whose posts become part of it.
struct Table {
  std::vector<protocol::EventPtr> events = known_then();
  desk::View view = whole_view(events);
  Headless h;

  protocol::EventPtr post(const protocol::Body& body) {
    protocol::Event event;
    event.id = protocol::random_uuid();
    event.at = {view.now, {}};
    event.from = "WREN";
    event.seq = events.size() + 1;  // as the server gives it
    event.body = body;
    events.push_back(std::make_shared<const protocol::Event>(std::move(event)));
    view = whole_view(events);
    return events.back();
  }
  Commands press(int key, int mods = 0) {
    Commands out = h.frame(view, {{key, mods}});
    for (Command& more : h.frames(view, 2)) out.push_back(std::move(more));
    return out;
  }
  void type(std::string_view text) {
    h.type(text);
    h.frame(view);
  }
  void choose(const protocol::Uuid& id) {
    focus_on(h.desk, RegionId::heard);
    h.desk.chosen.event = id;
    h.frames(view, 2);
  }
};

ClockText clock_of(const desk::View& view, TimeMode mode = TimeMode::elapsed) {
  return {mode, view.plan()->start};
}

}  // namespace

TEST_CASE("edits of a plan change the cells they name and nothing else") {
  const protocol::Plan plan = *whole_view(hallow_beck()).plan();
  PlanEdits edits;
  edits.allotted["Red Gully"] = 55;
  edits.number["pumice"] = 3;
  edits.number["obsidian"] = 0;
  edits.weight["dunite xenolith"] = 4;
  edits.allotted["nowhere"] = 5;
  edits.number["no such rock"] = 5;
  const protocol::Plan after = with_edits(plan, edits);
  CHECK(plan_changes(plan, after) ==
        std::vector<std::string>{"Red Gully 40 → 55 min", "pumice wanted 1 → 3",
                                 "dunite xenolith weight 2 → 4", "obsidian no longer wanted"});
  CHECK(with_edits(plan, {}) == plan);
  CHECK(plan_changes(plan, plan).empty());
}

TEST_CASE("a kind that is wanted anew stands at the end, and other changes of a plan are named") {
  protocol::Plan plan = *whole_view(hallow_beck()).plan();
  PlanEdits drop, take;
  drop.number["pumice"] = 0;
  take.number["pumice"] = 2;
  take.weight["pumice"] = 3;
  const protocol::Plan without = with_edits(plan, drop);
  CHECK(with_edits(without, take).wanted.back() ==
        protocol::WantedKind{.rock = "pumice", .number = 2, .weight = 3});
  CHECK(plan_changes(without, with_edits(without, take)) ==
        std::vector<std::string>{"pumice wanted, 2, weight 3"});
  protocol::Plan slower = plan;
  slower.walking.speed_kmh = 2;
  slower.stations.pop_back();
  CHECK(plan_changes(plan, slower) ==
        std::vector<std::string>{"Fan Toe left out", "walking changed"});
}

TEST_CASE("an allotment is changed on the plan sheet by key and posted as a new plan, once") {
  Table t;
  focus_on(t.h.desk, RegionId::kinds);
  t.press(GLFW_KEY_F11);
  CHECK(t.h.desk.focus == RegionId::plan);
  t.press(GLFW_KEY_DOWN);  // Red Gully
  t.press(GLFW_KEY_EQUAL);
  t.press(GLFW_KEY_EQUAL);
  t.press(GLFW_KEY_MINUS);
  CHECK(posted<protocol::PlanGiven>(t.press(GLFW_KEY_UP)).empty());
  auto plans = posted<protocol::PlanGiven>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL));
  REQUIRE(plans.size() == 1);
  CHECK(plans[0].plan->stations[1].allotted_minutes == 45);
  CHECK(posted<protocol::PlanGiven>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL)).empty());
  t.press(GLFW_KEY_ESCAPE);
  CHECK(t.h.desk.focus == RegionId::kinds);

  SECTION("it holds from then on, its line in Heard says what changed, and it can be taken back") {
    auto event = t.post(plans[0]);
    CHECK(t.view.plan()->stations[1].allotted_minutes == 45);
    const auto& lines = t.view.picture->heard;
    auto line =
        std::ranges::find(lines, event->id, [](const auto& each) { return each.event->id; });
    REQUIRE(line != lines.end());
    CHECK(plan_line_text(plans[0], line->replaced) == "Plan changed: Red Gully 40 → 45 min.");
    t.post(protocol::Retract{event->id, {}});
    CHECK(t.view.plan()->stations[1].allotted_minutes == 40);
  }
}

TEST_CASE(
    "a figure of the plan is typed; what it cannot be is said and stays to be typed otherwise") {
  Table t;
  t.press(GLFW_KEY_F11);
  for (std::size_t i = 0; i < t.view.plan()->stations.size() + 3; ++i) t.press(GLFW_KEY_DOWN);
  REQUIRE(t.view.plan()->vocabulary[3].rock == "pumice");
  t.press(GLFW_KEY_ENTER);
  REQUIRE(t.h.desk.plan.typing);
  t.type("1.5");
  t.press(GLFW_KEY_ENTER);
  CHECK(t.h.desk.plan.fault == "a whole number from 0 to 1000");
  CHECK(t.h.desk.plan.typing);
  t.press(GLFW_KEY_ESCAPE);
  t.press(GLFW_KEY_ENTER);
  t.type("3");
  t.press(GLFW_KEY_ENTER);
  t.press(GLFW_KEY_RIGHT);
  t.press(GLFW_KEY_ENTER);
  t.type("2.5");
  t.press(GLFW_KEY_ENTER);
  auto plans = posted<protocol::PlanGiven>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL));
  REQUIRE(plans.size() == 1);
  auto wanted = std::ranges::find(plans[0].plan->wanted, "pumice", &protocol::WantedKind::rock);
  CHECK(wanted->number == 3);
  CHECK(wanted->weight == 2.5);
}

TEST_CASE(
    "edits of the plan that are not posted are kept while the sheet is away; Esc drops them") {
  Table t;
  t.press(GLFW_KEY_F11);
  t.press(GLFW_KEY_EQUAL);
  t.press(GLFW_KEY_F4);
  CHECK(t.h.desk.focus == RegionId::kinds);
  CHECK_FALSE(t.h.desk.plan.edits.empty());
  t.press(GLFW_KEY_F11);
  t.press(GLFW_KEY_ESCAPE);
  CHECK(t.h.desk.plan.edits.empty());
  CHECK(t.h.desk.focus == RegionId::plan);
}

TEST_CASE(
    "an edit is applied to the plan that holds when it is posted, not to the one it began on") {
  Table t;
  t.press(GLFW_KEY_F11);
  t.press(GLFW_KEY_EQUAL);  // Sheep Fold 18 → 23
  PlanEdits other;
  other.allotted["Fan Toe"] = 30;
  t.post(protocol::PlanGiven{with_edits(*t.view.plan(), other)});
  auto plans = posted<protocol::PlanGiven>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL));
  REQUIRE(plans.size() == 1);
  CHECK(plans[0].plan->stations[0].allotted_minutes == 23);
  CHECK(plans[0].plan->stations[3].allotted_minutes == 30);
}

TEST_CASE("values of an event read as they are written, and loosely typed ones are understood") {
  Table t;
  const ClockText clock = clock_of(t.view);
  using protocol::Json;
  struct Case {
    Form form;
    std::string typed;
    Json value;
    std::string shown;
  };
  const Case each = GENERATE(values<Case>(
      {{Form::range, "45-55", {{"low", 45.0}, {"high", 55.0}}, "45–55 %"},
       {Form::range, "20 %", {{"low", 20.0}, {"high", 20.0}}, "20 %"},
       {Form::number, "120", 120, "120"},
       {Form::yes_no, "y", true, "yes"},
       {Form::counts,
        "vesicular basalt 7, scoria 2",
        {{{"rock", "vesicular basalt"}, {"count", 7}}, {{"rock", "scoria"}, {"count", 2}}},
        "vesicular basalt 7, scoria 2"},
       {Form::tie,
        "40 at 120 from Fold",
        {{"to", "Fold"}, {"bearing_degrees", 120.0}, {"distance_metres", 40.0}},
        "40 m at 120° from Fold"},
       {Form::place, "46.1, 8.2", {{"latitude", 46.1}, {"longitude", 8.2}}, "46.1, 8.2"},
       {Form::choice, "down sun", "down_sun", "down sun"},
       {Form::text, " a bag ", "a bag", "a bag"},
       {Form::text, "", Json(), "–"}}));
  CAPTURE(each.typed);
  auto value = member_value(each.typed, each.form, clock);
  REQUIRE(value);
  CHECK(*value == each.value);
  CHECK(member_text(*value, each.form, clock) == each.shown);
  CHECK(member_value(each.shown, each.form, clock) == value);
}

TEST_CASE("a time is typed as the clock shows it, elapsed, local or UTC") {
  Table t;
  for (TimeMode mode : {TimeMode::elapsed, TimeMode::local, TimeMode::utc}) {
    const ClockText clock = clock_of(t.view, mode);
    auto value = member_value(clock.seconds(t.view.now), Form::moment, clock);
    REQUIRE(value);
    CHECK(protocol::parse_timestamp(value->get<std::string>())->instant == t.view.now);
    CHECK(member_text(*value, Form::moment, clock) == clock.seconds(t.view.now));
  }
}

TEST_CASE("what cannot be read as a value is a fault that says what was expected") {
  const ClockText clock;
  for (auto [form, typed] : std::vector<std::pair<Form, std::string>>{{Form::number, "many"},
                                                                      {Form::number, "1e300"},
                                                                      {Form::range, "45-"},
                                                                      {Form::range, "5 of 10"},
                                                                      {Form::yes_no, "maybe"},
                                                                      {Form::counts, "basalt"},
                                                                      {Form::counts, "basalt 2,,"},
                                                                      {Form::tie, "40 m"},
                                                                      {Form::place, "46.1"},
                                                                      {Form::moment, "noon"}}) {
    CAPTURE(typed);
    auto value = member_value(typed, form, clock);
    REQUIRE_FALSE(value);
    CHECK(value.error().what.find("expected") == 0);
  }
}

TEST_CASE(
    "a tally's counts and total are put right on its sheet by one amendment with its reason") {
  Table t;
  auto tally = t.post(protocol::Tally{{{"scoria", 4}}, 10, {}});
  t.choose(tally->id);
  t.press(GLFW_KEY_W);
  REQUIRE(t.h.desk.focus == RegionId::line);
  t.press(GLFW_KEY_ENTER);
  t.type("scoria 14");
  t.press(GLFW_KEY_ENTER);
  SECTION("a change that the event cannot hold is not posted, and says why") {
    CHECK(posted<protocol::Amend>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL)).empty());
    CHECK(t.h.desk.line.fault.find("total") != std::string::npos);
    CHECK_FALSE(t.h.desk.line.changes.empty());
  }
  SECTION("with the total it is posted") {
    t.press(GLFW_KEY_DOWN);
    t.press(GLFW_KEY_ENTER);
    t.type("20");
    t.press(GLFW_KEY_ENTER);
    for (int i = 0; i < 5; ++i) t.press(GLFW_KEY_DOWN);  // to the reason, the last row
    t.press(GLFW_KEY_ENTER);
    t.type("misheard");
    t.press(GLFW_KEY_ENTER);
    auto amends = posted<protocol::Amend>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL));
    REQUIRE(amends.size() == 1);
    CHECK(amends[0].target == tally->id);
    CHECK(amends[0].why == "misheard");
    CHECK(t.h.desk.focus == RegionId::heard);
    t.post(amends[0]);
    CHECK(t.view.picture->looks.back().total == 20);
    auto history = picture::alterations(*t.view.picture, tally->id);
    REQUIRE(history.size() == 1);
    CHECK(alteration_text(history[0], clock_of(t.view)) ==
          "1:12:00 WREN: counts scoria 4 → scoria 14; looked at 10 → 20 (misheard)");
  }
}

TEST_CASE("an accepted reading is put right on the sheet of its note, and the sample changes") {
  Table t;
  auto said = t.post(protocol::VoiceNote{"sample ninety, bag eighty one, scoria", {}, {}});
  protocol::SampleTaken sample;
  sample.number = "90";
  sample.bag = "81";
  sample.rock = "scoria";
  auto read = t.post(protocol::Reading{said->id, protocol::Outcome::accepted, sample, {}, {}});
  t.choose(said->id);
  t.press(GLFW_KEY_H);
  // The note has words, speaker and time; then come the reading's number and bag.
  for (int i = 0; i < 4; ++i) t.press(GLFW_KEY_DOWN);
  t.press(GLFW_KEY_ENTER);
  t.type("82");
  t.press(GLFW_KEY_ENTER);
  auto amends = posted<protocol::Amend>(t.press(GLFW_KEY_ENTER, GLFW_MOD_CONTROL));
  REQUIRE(amends.size() == 1);
  CHECK(amends[0].target == read->id);
  CHECK(amends[0].changes == protocol::Json{{"bag", "82"}});
  t.post(amends[0]);
  CHECK(t.view.picture->samples.back().bag == "82");
}

TEST_CASE("a line is taken back with a reason, or without one, and Esc leaves it as it is") {
  Table t;
  auto share = t.post(protocol::Share{"scoria", {10, 20}, {}, {}, {}});
  t.choose(share->id);
  t.press(GLFW_KEY_X);
  REQUIRE(t.h.desk.focus == RegionId::line);
  SECTION("Esc") {
    CHECK(posted<protocol::Retract>(t.press(GLFW_KEY_ESCAPE)).empty());
    CHECK(t.h.desk.focus == RegionId::heard);
  }
  SECTION("with a reason") {
    t.type("that was the other loop");
    auto retracts = posted<protocol::Retract>(t.press(GLFW_KEY_ENTER));
    REQUIRE(retracts.size() == 1);
    CHECK(retracts[0].target == share->id);
    CHECK(retracts[0].why == "that was the other loop");
    CHECK(t.h.desk.focus == RegionId::heard);
  }
  SECTION("without") {
    auto retracts = posted<protocol::Retract>(t.press(GLFW_KEY_ENTER));
    REQUIRE(retracts.size() == 1);
    CHECK_FALSE(retracts[0].why);
  }
}

TEST_CASE("of calls, plans and alterations nothing can be put right, only taken back") {
  using namespace protocol;
  for (const Body& body : {Body(Call{}), Body(PlanGiven{}), Body(Amend{}), Body(Retract{}),
                           Body(CallAnswer{}), Body(NotUnderstood{})}) {
    Event event;
    event.body = body;
    CHECK(members_to_amend(event).empty());
  }
}

TEST_CASE("nothing under a sheet is pressed") {
  Table t;
  t.press(GLFW_KEY_F11);
  t.h.point(600, 150);  // the ruler
  t.h.hold(true);
  for (const Command& command : t.h.frame(t.view))
    CHECK_FALSE(std::holds_alternative<ask::Seek>(command));
  t.h.hold(false);
}

TEST_CASE("the sheet of the link says since when it is lost, and what waits to go out") {
  Table t;
  const ClockText clock = clock_of(t.view);
  CHECK(link_text(t.view, clock) == "No link: a recorded log.");
  t.view.mode = Mode::live;
  t.view.source = "127.0.0.1:7700";
  t.view.link.kind = LinkState::Kind::connected;
  t.view.link.since = t.view.plan()->start.instant + 12min;
  CHECK(link_text(t.view, clock) == "Connected to 127.0.0.1:7700 since 0:12:00.");
  t.view.link.kind = LinkState::Kind::lost;
  t.view.link.words = "connection refused";
  t.view.link.waiting = 2;
  t.view.link.clock_offset = -95s;
  CHECK(link_text(t.view, clock) ==
        "Lost since 0:12:00: connection refused. It is tried again by itself. 2 of ours wait to "
        "go out. This machine's clock is 1:35 ahead of the server's.");
}

TEST_CASE("why the server did not take a post is told first of all, however long the post") {
  LinkState link;
  link.refused = LinkState::Refused{note(std::string(9000, 'x'), {}), "longer than 8192 bytes"};
  CHECK(refused_words(link).ends_with("…”: longer than 8192 bytes"));
  CHECK(refused_words(link).size() < 160);
  link.refused->event = note("bag thirty one", {});
  CHECK(refused_words(link) == "The server did not take “bag thirty one”: longer than 8192 bytes");
}

TEST_CASE("posts from before the exercise was known are told on the sheet, and a key sends them") {
  Headless h;
  View view = view_of(hallow_beck(), hallow_beck().back()->at.instant);
  view.mode = Mode::live;
  view.link.kind = LinkState::Kind::connected;
  focus_on(h.desk, RegionId::link);
  h.frames(view, 2);
  const auto asks_to_send = [&] {
    const Commands out = h.frame(view, {{GLFW_KEY_G, 0}});
    return std::ranges::any_of(
        out, [](const Command& each) { return std::holds_alternative<ask::SendUnclaimed>(each); });
  };
  CHECK_FALSE(asks_to_send());
  CHECK(unclaimed_text(view.link).empty());
  view.link.unclaimed = 2;
  const auto texts = h.read_frame(view);
  const auto says = [&](std::string_view part) {
    return std::ranges::any_of(
        texts, [&](const std::string& each) { return each.find(part) != std::string::npos; });
  };
  CHECK(says("2 posts were typed before it was known"));
  CHECK(says("2 posts of another time wait: F12"));
  CHECK(asks_to_send());
}

TEST_CASE("a sender's clock is said to be ahead or behind, or nothing where nobody can say") {
  picture::Sender sender;
  CHECK(sender_clock_text(sender) == "–");
  sender.clock_ahead = 2s;
  CHECK(sender_clock_text(sender) == "agrees");
  sender.clock_ahead = 45s;
  CHECK(sender_clock_text(sender) == "ahead 45 s");
  sender.clock_ahead = -2min;
  CHECK(sender_clock_text(sender) == "behind 2:00");
}

TEST_CASE("a bag given twice is listed as wanting a look, and Enter shows the line that gave it") {
  Table t;
  protocol::SampleTaken first, again;
  first.number = "901";
  again.number = "902";
  first.bag = again.bag = "777";
  t.post(first);
  auto second = t.post(again);
  t.press(GLFW_KEY_F12);
  REQUIRE(t.h.desk.focus == RegionId::link);
  // The newest stands first; go to the one about the bag.
  const auto& flags = t.view.picture->flags;
  auto about_bag = std::ranges::find(flags, picture::Flag::What::same_bag, &picture::Flag::what);
  REQUIRE(about_bag != flags.end());
  for (auto above = flags.end() - about_bag - 1; above > 0; --above) t.press(GLFW_KEY_DOWN);
  t.press(GLFW_KEY_ENTER);
  CHECK(t.h.desk.focus == RegionId::heard);
  CHECK(t.h.desk.chosen.event == second->id);
  // F12 opens it and puts it away again.
  t.press(GLFW_KEY_F12);
  CHECK(t.h.desk.focus == RegionId::link);
  t.press(GLFW_KEY_F12);
  CHECK(t.h.desk.focus == RegionId::heard);
}
