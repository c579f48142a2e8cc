#include <set>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/call_life.hpp"
#include "console/desk/call_sending.hpp"
#include "console/desk/kinds_words.hpp"
#include "console/desk/numbers_age.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall;
using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

namespace {

/// A live desk at minute 72 with an assessment as the method would give it; figures are invented.
View with_advice() {
  auto events = hallow_beck();
  REQUIRE_FALSE(events.empty());
  View view = view_of(events, events.back()->at.instant);
  view.playback.reset();
  view.mode = Mode::live;
  view.link.kind = LinkState::Kind::connected;
  view.now = view.plan()->start.instant + 72min;
  auto a = std::make_shared<advise::Assessment>();
  a->now = view.now;
  a->events = view.picture->events;
  a->clock.elapsed = 72min;
  a->here.station = view.plan()->stations[0].station;
  for (const auto& rock : view.picture->kinds) {
    advise::KindRow row;
    row.rock = rock;
    row.wanted = 1;
    row.share = advise::Figure{0.2, 0.1, 0.3};
    a->here.kinds.push_back(row);
  }
  a->whole = a->here;
  a->whole.station.clear();
  a->turn_back = advise::TurnBack{a->here.station, 900, 18, 20, 110min, 106min};
  advise::Advice advice;
  advice.kind = advise::Advice::Kind::move_on;
  advice.sentence = "Move on at 1:19.";
  advice.reason = "Six more minutes here are worth less than at the next stop.";
  advice.depart = 79min;
  for (int m = 60; m < 100; ++m)
    advice.curve.push_back({double(m), {0.3 - 0.002 * m, 0.1, 0.4}, 0.15});
  a->advice = advice;
  view.assessment = a;
  view.assessed = view.picture;
  return view;
}

const protocol::Call* posted_call(const Commands& commands) {
  for (const Command& command : commands)
    if (const auto* post = std::get_if<ask::Post>(&command))
      return std::get_if<protocol::Call>(&post->body);
  return nullptr;
}

picture::CallMade call_at(protocol::Instant at) {
  picture::CallMade made;
  made.origin.at = at;
  made.call.text = "Get one ordinary basalt before moving.";
  made.received = at;
  return made;
}

}  // namespace

TEST_CASE("a stated chance is a percentage and what it is a chance of") {
  auto stated = stated_chance(" 20 % another new kind within ten minutes ");
  REQUIRE(stated);
  CHECK(stated->chance == Approx(0.2));
  CHECK(stated->outcome == "another new kind within ten minutes");
  CHECK(stated_chance("0%: none")->chance == 0);
  CHECK(stated_chance("100 % so it is")->chance == 1);
  CHECK_FALSE(stated_chance("101 % too sure"));
  CHECK_FALSE(stated_chance("-1 % no"));
  CHECK_FALSE(stated_chance("nan % no"));
  CHECK_FALSE(stated_chance("20 of nothing"));
  CHECK_FALSE(stated_chance("20 %   "));
  CHECK_FALSE(stated_chance(""));
}

TEST_CASE("a call is on its way, then unheard, and wants eyes once delay and reaction are over") {
  View view = with_advice();
  auto plan = *view.plan();
  protocol::Milliseconds there_and_back{static_cast<long>(2000 * plan.link.delay_seconds)};
  protocol::Milliseconds reaction{static_cast<long>(60000 * plan.link.reaction_minutes)};
  CHECK(life_of(call_at(view.now - there_and_back), view).words == "on its way");
  auto waiting = life_of(call_at(view.now - there_and_back - 1s), view);
  CHECK(waiting.words.find("not heard") != std::string::npos);
  CHECK_FALSE(waiting.wants_eyes);
  CHECK(life_of(call_at(view.now - there_and_back - reaction - 1s), view).wants_eyes);
}

TEST_CASE("the last answer of the field is what a call has come to") {
  View view = with_advice();
  auto call = call_at(view.now - 10min);
  call.replies.push_back({{{}, view.now - 9min, "FIELD-1"}, protocol::Answered::heard, ""});
  CHECK(life_of(call, view).words == "heard 9:00 ago");
  call.replies.push_back({{{}, view.now - 8min, "FIELD-1"}, protocol::Answered::acting, ""});
  CHECK(life_of(call, view).words == "acting");
  call.replies.push_back({{{}, view.now - 7min, "FIELD-1"}, protocol::Answered::declined, ""});
  CHECK(life_of(call, view).words == "declined");
  CHECK(life_of(call, view).wants_eyes);
}

TEST_CASE("a recorded party hears nothing: in practice on a log a call is sent, and nags nobody") {
  View view = with_advice();
  view.mode = Mode::practice;
  view.recorded_party = true;
  const auto life = life_of(call_at(view.now - 30min), view);
  CHECK(life.words == "sent 30:00 ago");
  CHECK_FALSE(life.wants_eyes);
  view.recorded_party = false;  // a made-up party answers
  CHECK(life_of(call_at(view.now - 30min), view).words == "not heard 30:00");
  CHECK(life_of(call_at(view.now - 30min), view).wants_eyes);
}

TEST_CASE("a call not heard while it could be useful says so") {
  View view = with_advice();
  auto call = call_at(view.now - 10min);
  call.call.useful_until = protocol::Timestamp{view.now - 1min, {}};
  CHECK(life_of(call, view).words == "not heard in time");
}

TEST_CASE("while the link is lost a call that the server has not got waits, visibly") {
  View view = with_advice();
  view.link.kind = LinkState::Kind::lost;
  auto call = call_at(view.now - 1s);
  call.received.reset();
  CHECK(life_of(call, view).words == "waiting to go out");
}

TEST_CASE("the advised call carries its departure, its station and the last moment it is useful") {
  View view = with_advice();
  auto call = advised_call(view);
  REQUIRE(call);
  auto start = view.plan()->start.instant;
  CHECK(call->text == "Move on at 1:19.");
  CHECK(call->says == protocol::Says::move_on);
  CHECK(call->advised == true);
  CHECK(call->until->instant == start + 79min);
  CHECK(call->useful_until->instant == start + 75min);  // four minutes of link and reaction before
  CHECK(call->station == view.plan()->stations[0].station);
}

TEST_CASE("no call inside the noise is nothing to send") {
  View view = with_advice();
  auto a = *view.assessment;
  a.advice->kind = advise::Advice::Kind::no_call;
  view.assessment = std::make_shared<const advise::Assessment>(a);
  CHECK_FALSE(advised_call(view));
  a.advice.reset();
  view.assessment = std::make_shared<const advise::Assessment>(a);
  CHECK_FALSE(advised_call(view));
}

TEST_CASE("advice is current only for the events it was worked out from") {
  ClockText clock;
  View view = with_advice();
  clock.start = view.plan()->start;
  CHECK_FALSE(outdated(view));
  CHECK(outdated_words(view, clock).empty());
  auto events = hallow_beck();
  events.push_back(note("one more word", view.now));
  events.push_back(note("and another", view.now));
  view.picture = picture::fold(events);
  CHECK(outdated(view));
  CHECK(outdated_words(view, clock) == "as of 1:12:00, 2 newer events not in it yet");
}

TEST_CASE("after a jump back advice of the later moment is not the advice of that moment") {
  ClockText clock;
  View view = with_advice();
  clock.start = view.plan()->start;
  view.now -= 30min;
  auto events = picture::known_by(hallow_beck(), view.now);
  view.picture = picture::fold(events);
  CHECK(outdated(view));
  CHECK(outdated_words(view, clock) == "as of 1:12:00, being worked out anew");
}

TEST_CASE("advice that was due to be worked out anew and has not come is not current") {
  View view = with_advice();
  view.now += numbers_hold_for;
  CHECK_FALSE(outdated(view));
  view.now += numbers_hold_for + 1s;
  CHECK(outdated(view));
}

TEST_CASE("advice that is not current is not sent, by key or otherwise") {
  Headless h;
  View view = with_advice();
  auto events = hallow_beck();
  events.push_back(note("one more word", view.now));
  view.picture = picture::fold(events);
  CHECK_FALSE(advised_call(view));
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  CHECK_FALSE(posted_call(h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}})));
  view.assessed = view.picture;  // worked out
  CHECK(posted_call(h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}})));
}

TEST_CASE("the advised call goes out by one key, and once") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  auto first = h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}});
  REQUIRE(posted_call(first));
  CHECK(posted_call(first)->text == "Move on at 1:19.");
  CHECK_FALSE(posted_call(h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}})));
}

TEST_CASE("in replay no call is sent") {
  Headless h;
  View view = with_advice();
  view.mode = Mode::replay;
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  CHECK_FALSE(posted_call(h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}})));
  h.frame(view, {{GLFW_KEY_W, 0}});
  CHECK(h.desk.call.writing.what == CallWriting::What::nothing);
}

TEST_CASE("a call written by hand is posted at Enter as it was typed") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  REQUIRE(h.desk.call.writing.typing);
  h.type("count ten for us");
  h.frame(view);
  auto out = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(posted_call(out));
  CHECK(posted_call(out)->text == "count ten for us");
  CHECK_FALSE(posted_call(out)->advised);
  CHECK(h.desk.call.writing.what == CallWriting::What::nothing);
}

TEST_CASE("a chance is posted with its outcome, and not before both are there") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_S, 0}});
  h.frames(view, 3);
  h.type("20 %");
  h.frame(view);
  CHECK_FALSE(posted_call(h.frame(view, {{GLFW_KEY_ENTER, 0}})));
  h.type(" another new kind");
  h.frame(view);
  auto out = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(posted_call(out));
  CHECK(*posted_call(out)->chance == Approx(0.2));
  CHECK(posted_call(out)->outcome == "another new kind");
}

TEST_CASE("a chance that falls short of certain is not told as certain") {
  Headless h;
  const View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_S, 0}});
  h.frames(view, 3);
  h.type("99.6 % rain");
  h.frame(view);
  const auto out = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(posted_call(out));
  CHECK(*posted_call(out)->chance == Approx(0.996));
  CHECK(posted_call(out)->text == "over 99 %: rain");
}

TEST_CASE("a chance is stated without typing: a ready outcome by key, the chance up and down") {
  Headless h;
  View view = with_advice();
  view.mode = GENERATE(Mode::live, Mode::practice, Mode::replay);
  view.now = view.picture->visits[1].arrived + 1min;
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_S, 0}});
  h.frames(view, 3);
  h.frame(view, {{GLFW_KEY_K, GLFW_MOD_CONTROL}});
  h.frames(view, 2);
  CHECK(h.desk.call.writing.typed == "50 % another kind turns up here within ten minutes");
  h.frame(view, {{GLFW_KEY_K, GLFW_MOD_CONTROL}});
  h.frames(view, 2);
  CHECK(h.desk.call.writing.typed.find(view.picture->visits[1].station) != std::string::npos);
  for (int i = 0; i < 3; ++i) {
    h.frame(view, {{GLFW_KEY_UP, GLFW_MOD_CONTROL}});
    h.frames(view, 2);
  }
  h.frame(view, {{GLFW_KEY_DOWN, GLFW_MOD_CONTROL}});
  h.frames(view, 2);
  const auto out = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(posted_call(out));
  CHECK(*posted_call(out)->chance == Approx(0.6));
  CHECK(posted_call(out)->text == "60 %: " + *posted_call(out)->outcome);
}

TEST_CASE("what came of a chance is said by key, of our own first and the oldest first") {
  Headless h;
  View view = with_advice();
  auto picture = std::make_shared<picture::Picture>(*view.picture);
  picture->calls = {};
  const auto state = [&](std::uint8_t number, const std::string& outcome) {
    auto made = call_at(view.now - 20min + std::chrono::minutes(number));
    made.origin.id.data[15] = number;
    made.call.chance = 0.7;
    made.call.outcome = outcome;
    made.origin.from = number == 0 ? "LAMP" : "WREN";
    picture->calls.push_back(made);
  };
  h.desk.call.adviser = "WREN";  // another's chance waits until our own are done
  state(0, "rain");
  state(1, "a third kind");
  state(2, "marble");
  view.picture = picture;
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  CHECK(life_of(picture->calls[1], view).words == "stated");

  // Nothing is chosen: nothing is said of anything.
  CHECK(h.frame(view, {{GLFW_KEY_T, 0}}).empty());
  h.frame(view, {{GLFW_KEY_M, 0}});
  CHECK(h.desk.chosen.event == picture->calls[1].origin.id);
  const auto out = h.frame(view, {{GLFW_KEY_T, 0}});
  REQUIRE(out.size() == 1);
  const auto& remark = std::get<protocol::Remark>(std::get<ask::Post>(out[0]).body);
  CHECK(remark.about == picture->calls[1].origin.id);
  CHECK(h.desk.chosen.event == picture->calls[2].origin.id);  // on to the next

  auto marked = std::make_shared<picture::Picture>(*picture);
  marked->remarks.push_back({}).remark = remark;
  view.picture = marked;
  CHECK(life_of(marked->calls[1], view).words == "came true");
  const auto other = h.frame(view, {{GLFW_KEY_N, 0}});
  REQUIRE(other.size() == 1);
  marked->remarks.push_back({}).remark =
      std::get<protocol::Remark>(std::get<ask::Post>(other[0]).body);
  CHECK(life_of(marked->calls[2], view).words == "did not");
}

TEST_CASE("Esc leaves the line and posts nothing") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  h.type("never mind");
  h.frame(view);
  CHECK_FALSE(posted_call(h.frame(view, {{GLFW_KEY_ESCAPE, 0}})));
  CHECK(h.desk.call.writing.what == CallWriting::What::nothing);
}

TEST_CASE("the arrows walk through the kinds and open their samples; Esc closes") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::kinds);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  REQUIRE(h.desk.chosen.rock);
  CHECK(*h.desk.chosen.rock == view.picture->kinds[0]);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  CHECK(*h.desk.chosen.rock == view.picture->kinds[1]);
  h.frame(view, {{GLFW_KEY_UP, 0}});
  CHECK(*h.desk.chosen.rock == view.picture->kinds[0]);
  h.frame(view, {{GLFW_KEY_ESCAPE, 0}});
  CHECK_FALSE(h.desk.chosen.rock);
}

TEST_CASE("the reasons of the call are paged through, however low the window") {
  const auto [width, height, scale] = GENERATE(table<float, float, float>(
      {{1600, 900, 1}, {1280, 720, 1}, {960, 1080, 1.5F}, {1280, 720, 2}}));
  CAPTURE(width, height, scale);
  Headless h(width, height, scale);
  View view = with_advice();
  auto changed = *view.assessment;
  for (int i = 0; i < 30; ++i)
    changed.advice->why.emplace_back(
        "Leaving as soon as it can be said beats staying five minutes more with a chance of 20 %, "
        "as far as what was counted and what was said of this ground let anybody know it.");
  view.assessment = std::make_shared<const advise::Assessment>(changed);
  focus_on(h.desk, RegionId::call);
  h.frame(view, {{GLFW_KEY_Y, 0}});
  h.frames(view, 2);
  REQUIRE(h.desk.call.why);
  CHECK(h.desk.call.reason == 0);
  std::size_t before = 0;
  for (int pages = 0; pages < 40; ++pages) {
    h.frame(view, {{GLFW_KEY_PAGE_DOWN, 0}});
    if (h.desk.call.reason == before) break;
    CHECK(h.desk.call.reason > before);
    before = h.desk.call.reason;
  }
  CHECK(before > 15);
  h.frame(view, {{GLFW_KEY_PAGE_UP, 0}});
  h.frame(view);
  CHECK(h.desk.call.reason == 0);
}

TEST_CASE("the arrows walk through the samples of the open kind, whose checklists unfold") {
  // Also in a low place, where the kind alone stands above them.
  const auto [width, height, scale] =
      GENERATE(table<float, float, float>({{1600, 900, 1}, {960, 1080, 1.5F}}));
  Headless h(width, height, scale);
  View view = with_advice();
  focus_on(h.desk, RegionId::kinds);
  h.frames(view, 2);
  std::vector<std::string> names;
  for (const auto& s : view.picture->samples)
    if (s.rock == "scoria") names.push_back(s.number);
  REQUIRE(names.size() >= 2);
  h.desk.chosen.rock = "scoria";
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_RIGHT, 0}});
  CHECK(h.desk.chosen.sample == names[0]);
  h.frame(view, {{GLFW_KEY_RIGHT, 0}});
  CHECK(h.desk.chosen.sample == names[1]);
  h.frame(view, {{GLFW_KEY_LEFT, 0}});
  CHECK(h.desk.chosen.sample == names[0]);
  h.frames(view, 2);
  CHECK(h.desk.chosen.rock == "scoria");
}

TEST_CASE("kinds are copied as a table that says where, when and what it rests on") {
  View view = with_advice();
  ClockText clock;
  clock.start = view.plan()->start;
  std::string text = kinds_as_text(view, false, clock);
  CHECK(text.find(view.assessment->here.station + ", 1:12:00 elapsed; No basis") == 0);
  CHECK(text.find("\t20.0\t10.0\t30.0\n") != std::string::npos);
  CHECK(kinds_as_text(view, true, clock).rfind("whole exercise", 0) == 0);

  // What is laid beside is copied too, with the kinds that were met later.
  auto end = std::make_shared<AtTheEnd>();
  end->here.here = view.assessment->here;
  end->here.here.kinds.emplace_back().rock = "tuff met later";
  end->here.here.kinds.back().bagged = 2;
  view.at_the_end = end;
  view.mode = Mode::replay;
  text = kinds_as_text(view, false, clock);
  CHECK(text.find("\tat the end: bagged\tshare %") != std::string::npos);
  CHECK(text.find("tuff met later\t0\t0\t0\t\tno basis\t\t\t2\tno basis\t\t\n") !=
        std::string::npos);
}

TEST_CASE("same ground or not is said by how sure it is, and no basis is an answer") {
  advise::Assessment a;
  CHECK(same_ground_text(a).empty());
  a.compared_with = "North Apron";
  CHECK(same_ground_text(a) ==
        "Same ground as North Apron? No basis: both need a count or shares.");
  a.same_ground = 0.94;
  CHECK(same_ground_text(a) == "Same ground as North Apron: P(same) 0.94");
  a.same_ground = 0.06;
  CHECK(same_ground_text(a) == "Not the ground of North Apron: P(same) 0.06");
  a.same_ground = 0.5;
  CHECK(same_ground_text(a) == "Perhaps the same ground as North Apron: P(same) 0.50");
  a.same_ground = 1e-9;
  CHECK(same_ground_text(a) == "Not the ground of North Apron: P(same) under 0.01");
}

TEST_CASE("the plan view zooms by key and returns to all of it") {
  Headless h;
  View view = with_advice();
  focus_on(h.desk, RegionId::ground);
  h.frames(view, 2);
  CHECK_FALSE(h.desk.ground.viewport);
  h.frame(view, {{GLFW_KEY_EQUAL, 0}});
  REQUIRE(h.desk.ground.viewport);
  double once = h.desk.ground.viewport->metres_per_pixel;
  h.frame(view, {{GLFW_KEY_EQUAL, 0}});
  CHECK(h.desk.ground.viewport->metres_per_pixel < once);
  h.frame(view, {{GLFW_KEY_0, 0}});
  CHECK_FALSE(h.desk.ground.viewport);
}

TEST_CASE("at the base, which has no kinds of its own, the whole exercise is shown") {
  Headless h;
  View view = with_advice();
  auto plan = *view.plan();
  auto at_base = *view.assessment;
  at_base.here.station = plan.base.station;
  for (auto& row : at_base.here.kinds) row.share.reset();
  view.assessment = std::make_shared<const advise::Assessment>(at_base);
  focus_on(h.desk, RegionId::kinds);
  h.frames(view, 2);
  const auto copied = h.frame(view, {{GLFW_KEY_C, GLFW_MOD_CONTROL}});
  REQUIRE(copied.size() == 1);
  CHECK_THAT(std::get<ask::CopyText>(copied[0]).text, Catch::StartsWith("whole exercise"));
  h.frame(view, {{GLFW_KEY_W, 0}});  // there is nothing to switch to
  CHECK_FALSE(h.desk.kinds.whole);
}

TEST_CASE("Kinds, Call and Ground leave calm space where nothing is known") {
  Headless h;
  View view;
  for (RegionId region : {RegionId::kinds, RegionId::call, RegionId::ground}) {
    focus_on(h.desk, region);
    CHECK(h.frames(view, 2).empty());
  }
}

namespace {

/// The view with one more event, as everybody has it.
View with(View view, protocol::Body body, protocol::Uuid id = protocol::random_uuid()) {
  std::vector<protocol::EventPtr> events = hallow_beck();
  auto event = std::make_shared<protocol::Event>();
  event->id = id;
  event->at.instant = view.now - 1min;
  event->from = "FIELD-1";
  event->body = std::move(body);
  events.push_back(std::move(event));
  view.picture = picture::fold(events);
  view.assessed = view.picture;
  return view;
}

}  // namespace

TEST_CASE("what the field said of the call chosen by the arrows is noted by a key") {
  Headless h;
  const View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  REQUIRE(h.desk.chosen.event);
  const protocol::Uuid chosen = *h.desk.chosen.event;
  struct Said {
    int key;
    protocol::Answered answer;
  };
  const auto said = GENERATE(Said{GLFW_KEY_H, protocol::Answered::heard},
                             Said{GLFW_KEY_D, protocol::Answered::declined});
  // It said last that it is acting, which is not noted again.
  CHECK(h.frame(view, {{GLFW_KEY_A, 0}}).empty());
  const auto answers = posted<protocol::CallAnswer>(h.frame(view, {{said.key, 0}}));
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].call == chosen);
  CHECK(answers[0].answer == said.answer);
  CHECK(h.desk.chosen.event == chosen);
}

TEST_CASE("the chosen call stays in sight while others come in") {
  View view = with_advice();
  view.mode = Mode::live;
  Headless h(1280, 720);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frames(view, 2);
  REQUIRE(h.desk.chosen.event);
  auto grown = std::make_shared<picture::Picture>(*view.picture);
  for (int i = 0; i < 20; ++i) {
    auto call = call_at(view.now + 3h);
    call.origin.id = protocol::random_uuid();
    grown->calls.push_back(call);
  }
  view.picture = grown;
  h.frames(view, 2);
  ClockText clock;
  clock.start = view.plan()->start;
  protocol::Instant at{};
  for (const auto& call : grown->calls)
    if (call.origin.id == *h.desk.chosen.event) at = call.origin.at;
  for (const auto& asked : grown->questions)
    if (asked.origin.id == *h.desk.chosen.event) at = asked.origin.at;
  REQUIRE(at < view.now + 3h);
  const auto written = h.written_in_frame(view);
  const Rect area = h.desk.layout.slot_of(RegionId::call)->area;
  CHECK(std::ranges::any_of(written, [&](const Canvas::Written& each) {
    return each.text == clock.seconds(at) && each.place.x >= area.x && each.place.y >= area.y;
  }));
}

TEST_CASE("what the keys do to the chosen call is told, however little room the list has") {
  View view = with_advice();
  view.mode = Mode::live;
  for (auto [width, height] : {std::pair{1600.0F, 900.0F}, std::pair{1280.0F, 720.0F},
                               std::pair{960.0F, 1080.0F}, std::pair{1920.0F, 1080.0F}}) {
    Headless h(width, height);
    focus_on(h.desk, RegionId::call);
    REQUIRE(view.picture->calls.size() + view.picture->questions.size() > 1);
    h.frame(view, {{GLFW_KEY_DOWN, 0}});
    h.frames(view, 3);
    const auto texts = h.read_frame(view);
    CAPTURE(width, height);
    CHECK(std::ranges::any_of(texts, [](const std::string& each) {
      return each.starts_with("the field: h heard") || each.starts_with("r answers") ||
             each.starts_with("t came true");
    }));
  }
}

TEST_CASE("in a replay and in practice nobody answers for the field") {
  Headless h;
  View view = with_advice();
  view.mode = GENERATE(Mode::replay, Mode::practice);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  CHECK(h.frame(view, {{GLFW_KEY_H, 0}}).empty());
}

TEST_CASE("a question is chosen by the arrows and answered in words") {
  Headless h;
  const auto question = protocol::random_uuid();
  const View view =
      with(with_advice(),
           protocol::Question{"Do you want another slate?", protocol::Side::back_room, {}, {}},
           question);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  for (int i = 0; i < 20 && h.desk.chosen.event != question; ++i)
    h.frame(view, {{GLFW_KEY_DOWN, 0}});
  REQUIRE(h.desk.chosen.event == question);
  h.frame(view, {{GLFW_KEY_R, 0}});
  h.frames(view, 2);
  h.type("One more, a fresh one.");
  h.frames(view, 2);
  const auto answers = posted<protocol::Answer>(h.frame(view, {{GLFW_KEY_ENTER, 0}}));
  REQUIRE(answers.size() == 1);
  CHECK(answers[0].question == question);
  CHECK(answers[0].text == "One more, a fresh one.");
  CHECK(h.desk.call.writing.what == CallWriting::What::nothing);
}

TEST_CASE("Enter shows the chosen call in Heard") {
  Headless h;
  const View view = with_advice();
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  const auto chosen = h.desk.chosen.event;
  h.frame(view, {{GLFW_KEY_ENTER, 0}});
  CHECK(h.desk.focus == RegionId::heard);
  CHECK(h.desk.chosen.event == chosen);
}

TEST_CASE("from the samples of the open kind the arrows go on to its places and what was said") {
  Headless h(1920, 1200);
  const View view = with_advice();
  focus_on(h.desk, RegionId::kinds);
  h.desk.chosen.rock = "vesicular basalt";
  h.frames(view, 2);
  std::vector<std::string> entries;
  std::set<std::string> stations;
  for (int i = 0; i < 40; ++i) {
    h.frame(view, {{GLFW_KEY_RIGHT, 0}});
    if (h.desk.chosen.station) stations.insert(*h.desk.chosen.station);
    if (entries.empty() || entries.back() != h.desk.kinds.opened.entry)
      entries.push_back(h.desk.kinds.opened.entry);
  }
  const auto first = [&](std::string_view of) {
    return std::ranges::find_if(entries, [&](const auto& each) { return each.starts_with(of); }) -
           entries.begin();
  };
  CHECK(first("sample ") < first("place "));
  CHECK(first("place ") < first("word "));
  CHECK(first("word ") < static_cast<std::ptrdiff_t>(entries.size()));
  // Places are those where it was bagged, counted, told of or is expected.
  for (const auto& s : view.picture->samples)
    if (s.rock == "vesicular basalt") CHECK(stations.contains(s.station));
}

TEST_CASE("a word of the open kind that was read from a note leads to the note") {
  Headless h(1920, 1200);
  const View view = with_advice();
  focus_on(h.desk, RegionId::kinds);
  h.desk.chosen.rock = "vesicular basalt";
  h.frames(view, 2);
  for (int i = 0; i < 40 && !h.desk.kinds.opened.entry.starts_with("word "); ++i)
    h.frame(view, {{GLFW_KEY_RIGHT, 0}});
  h.frame(view, {{GLFW_KEY_ENTER, 0}});
  CHECK(h.desk.focus == RegionId::heard);
  REQUIRE(h.desk.chosen.event);
  const auto& heard = view.picture->heard;
  const auto line = std::ranges::find_if(
      heard, [&](const auto& each) { return each.event->id == *h.desk.chosen.event; });
  REQUIRE(line != heard.end());
  CHECK(std::holds_alternative<protocol::VoiceNote>((*line).event->body));
}

TEST_CASE("what nobody decided yet stands among the words of its kind") {
  View view = with_advice();
  const auto words_of_obsidian = [&] {
    Headless h(1920, 1200);
    focus_on(h.desk, RegionId::kinds);
    h.desk.chosen.rock = "obsidian";
    h.frames(view, 2);
    std::set<std::string> words;
    for (int i = 0; i < 40; ++i) {
      h.frame(view, {{GLFW_KEY_RIGHT, 0}});
      if (h.desk.kinds.opened.entry.starts_with("word ")) words.insert(h.desk.kinds.opened.entry);
    }
    return words.size();
  };
  const auto& heard = view.picture->heard;
  const auto bare = std::ranges::find_if(heard, [](const auto& line) {
    return line.readings.empty() && std::holds_alternative<protocol::VoiceNote>(line.event->body);
  });
  REQUIRE(bare != heard.end());
  const std::size_t decided = words_of_obsidian();
  view.proposals = std::make_shared<const Proposals>(Proposals(
      {{(*bare).event->id, {Proposal{{0, 4}, protocol::Sighting{"obsidian", true, {}}, 0.9}}}}));
  CHECK(words_of_obsidian() == decided + 1);
}

TEST_CASE(
    "what a scribe types is the field's word, also where the plan counts the scribe to base") {
  const View view = with_advice();
  const auto noted = [&](const std::string& adviser, std::string_view typed) {
    Headless h;
    h.desk.entry.adviser = adviser;
    focus_on(h.desk, RegionId::entry);
    h.frames(view, 3);
    h.type(typed);
    h.frames(view, 3);
    const auto notes = posted<protocol::VoiceNote>(h.frame(view, {{GLFW_KEY_ENTER, 0}}));
    REQUIRE(notes.size() == 1);
    return notes[0];
  };
  // The plan names FIELD-1 and FIELD-2, in the field, and BASE, in the back room.
  CHECK(noted("BASE", "two basalts") == protocol::VoiceNote{"two basalts", "FIELD", {}});
  CHECK(stonecall::picture::is_field(*view.picture, "FIELD"));
  CHECK(noted("BASE", "field-2: two basalts") == protocol::VoiceNote{"two basalts", "FIELD-2", {}});
  CHECK(noted("BASE", "base: copy, stay") == protocol::VoiceNote{"copy, stay", {}, {}});
  // Who is not named, or is in the field, types under the own name.
  CHECK(noted("WREN", "two basalts") == protocol::VoiceNote{"two basalts", {}, {}});
  CHECK(noted("FIELD-1", "two basalts") == protocol::VoiceNote{"two basalts", {}, {}});
  CHECK(noted("WREN", "FIELD-1: two basalts").speaker == "FIELD-1");
  // A colon alone names nobody.
  CHECK(noted("WREN", "of ten: seven basalt") ==
        protocol::VoiceNote{"of ten: seven basalt", {}, {}});
}

TEST_CASE(
    "a change is marked at its region until that has the keyboard; what stood there is none") {
  Headless h;
  const View view = with_advice();
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  CHECK(h.desk.news.unseen(RegionId::call).empty());

  const View asked = with(
      view, protocol::Question{"Do you want another slate?", protocol::Side::back_room, {}, {}});
  h.frames(asked, 2);
  REQUIRE(h.desk.news.unseen(RegionId::call).size() == 1);
  CHECK(h.desk.news.unseen(RegionId::call)[0].words == "Do you want another slate?");
  h.frame(asked, {{GLFW_KEY_F5, 0}});
  h.frames(asked, 2);
  CHECK(h.desk.news.unseen(RegionId::call).empty());
  h.frame(asked, {{GLFW_KEY_F7, 0}});
  h.frames(asked, 2);
  CHECK(h.desk.news.unseen(RegionId::call).empty());
}

TEST_CASE(
    "a bag given twice is marked at Kinds, a line that another took back at Heard, our own act "
    "nowhere") {
  Headless h;
  const View view = with_advice();
  h.desk.call.adviser = "DESK";
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  protocol::SampleTaken again;
  again.number = "77";
  again.bag = view.picture->samples[0].bag;
  h.frames(with(view, again), 2);
  CHECK(h.desk.news.unseen(RegionId::kinds).size() == 1);
  const auto target = view.picture->heard[5].event->id;
  View taken_back = with(view, protocol::Retract{target, std::nullopt});
  h.frames(taken_back, 2);
  CHECK(h.desk.news.unseen(RegionId::heard).size() == 1);
  h.desk.call.adviser = "FIELD-1";
  CHECK(wants_eyes(RegionId::heard, taken_back, "FIELD-1").size() + 1 ==
        wants_eyes(RegionId::heard, taken_back, "DESK").size());
}

TEST_CASE("a replay marks nothing: who moves it looks at it") {
  Headless h;
  View view = with_advice();
  view.mode = Mode::replay;
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  h.frames(with(view, protocol::Question{"Which way?", protocol::Side::back_room, {}, {}}), 2);
  CHECK(h.desk.news.unseen(RegionId::call).empty());
}

namespace {

/// On the way, with these calls, the newest last.
View with_calls(const std::vector<std::string>& texts) {
  View view = with_advice();
  auto a = *view.assessment;
  a.advice.reset();
  view.assessment = std::make_shared<const advise::Assessment>(a);
  auto picture = std::make_shared<picture::Picture>(*view.picture);
  picture->calls = {};
  picture->questions = {};
  for (std::size_t i = 0; i < texts.size(); ++i) {
    auto call = call_at(view.now - 10min + i * 1min);
    call.origin.id = protocol::random_uuid();
    call.call.text = texts[i];
    picture->calls.push_back(call);
  }
  view.picture = view.assessed = picture;
  return view;
}

/// The words of a text that stand on the desk within a region, line by line.
std::string words_shown(const std::vector<Canvas::Written>& written, const Rect& area,
                        const std::string& text) {
  std::string shown;
  for (const auto& each : written)
    if (area.contains({each.place.x, each.place.y}) && each.text.size() > 3 &&
        text.find(each.text) != std::string::npos)
      shown += (shown.empty() ? "" : " ") + each.text;
  return shown;
}

}  // namespace

TEST_CASE("the newest calls stand there in all their words, in narrow windows in two lines") {
  const std::string words =
      "Before leaving: after picture and a tie for sample eight, the welded tuff.";
  const View view = with_calls({"One.", words, "Two.", "Three."});
  for (auto [width, height] : {std::pair{1280.0F, 720.0F}, std::pair{960.0F, 1080.0F}}) {
    Headless h(width, height);
    h.frames(view, 3);
    const auto written = h.written_in_frame(view);
    CAPTURE(width, height);
    CHECK(words_shown(written, h.desk.layout.slot_of(RegionId::call)->area, words) == words);
  }
}

TEST_CASE("of a list longer than its room the further lines of older calls make room for calls") {
  const std::string words =
      "Before leaving: after picture and a tie for sample eight, the welded tuff.";
  const View view = with_calls(std::vector<std::string>(30, words));
  Headless h(960, 1080);
  h.frames(view, 3);
  const Rect area = h.desk.layout.slot_of(RegionId::call)->area;
  std::size_t whole = 0, begun = 0;
  for (const auto& each : h.written_in_frame(view)) {
    if (!area.contains({each.place.x, each.place.y})) continue;
    begun += each.text.starts_with("Before leaving: ");
    whole += each.text.ends_with("the welded tuff.");
  }
  CHECK(whole == 3);
  CHECK(begun > 3);
}

TEST_CASE("a chosen call says all it says, in as many lines as there is room for") {
  const std::string words =
      "Count ten underfoot for us at the fan, no choosing, before you touch anything else; then "
      "take one of the pale ones from the upper edge of the band, in place if there is one, with "
      "the stereo pair across the sun, and only after that come down the way you went up.";
  const View view = with_calls({words, "One.", "Two.", "Three."});
  Headless h(960, 1080);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  for (int i = 0; i < 4; ++i) h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frames(view, 2);
  const auto written = h.written_in_frame(view);
  CHECK(words_shown(written, h.desk.layout.slot_of(RegionId::call)->area, words) == words);
}

TEST_CASE("where Call has no room for its list the arrows choose all the same, and show the line") {
  const View view = with_calls({"Look for the contact.", "Count ten underfoot."});
  Headless h(800, 450);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  const auto shows = [&](const std::string& words) {
    return std::ranges::any_of(h.read_frame(view),
                               [&](const std::string& each) { return each == words; });
  };
  REQUIRE(h.desk.layout.slot_of(RegionId::call));
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frames(view, 2);
  CHECK(h.desk.chosen.event == view.picture->calls.back().origin.id);
  CHECK(shows("Count ten underfoot."));
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frames(view, 2);
  CHECK(h.desk.chosen.event == view.picture->calls.front().origin.id);
  CHECK(shows("Look for the contact."));
}

TEST_CASE("by the time of day the curve is marked at round times, whenever the exercise began") {
  View view = with_advice();
  auto picture = std::make_shared<picture::Picture>(*view.picture);
  auto plan = *picture->plan;
  plan.start.instant += 7min;
  picture->plan = plan;
  view.picture = view.assessed = picture;
  view.now += 7min;
  Headless h(1920, 1080);
  h.desk.settings.time_mode = GENERATE(TimeMode::local, TimeMode::utc);
  h.frames(view, 3);
  const Rect area = h.desk.layout.slot_of(RegionId::call)->area;
  std::size_t marks = 0;
  for (const auto& each : h.written_in_frame(view)) {
    if (!area.contains({each.place.x, each.place.y}) || each.text.size() != 5 ||
        each.text[2] != ':')
      continue;
    ++marks;
    CHECK(std::stoi(each.text.substr(3)) % 5 == 0);
  }
  CHECK(marks > 1);
}
