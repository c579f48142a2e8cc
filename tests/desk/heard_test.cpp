#include <numeric>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/deciding.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/heard_words.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;
using stonecall::protocol::EventPtr;
using stonecall::protocol::Instant;

namespace {

const Instant start{std::chrono::sys_days{std::chrono::year{2027} / 5 / 18} + 6h};

std::vector<EventPtr> notes(int count) {
  std::vector<EventPtr> events;
  for (int i = 0; i < count; ++i)
    events.push_back(note(
        "Note " + std::to_string(i) + (i % 3 ? ", grey basalt underfoot and a little dust." : "."),
        start + i * 1min, i % 2 ? "FIELD-2" : "FIELD-1"));
  return events;
}

View view_at(std::vector<EventPtr> events) {
  return view_of(events, events.back()->at.instant);
}

}  // namespace

TEST_CASE("the newest line is kept in sight while lines come in") {
  Headless h;
  auto events = notes(200);
  View view = view_at(events);
  h.frames(view, 2);
  CHECK(h.desk.heard.list.following);
  events.push_back(note("One more.", start + 300min));
  view = view_at(events);
  h.frames(view, 2);
  CHECK(h.desk.heard.list.following);
  CHECK(h.desk.heard.list.rows.size() == 201);
}

TEST_CASE("looking back stands still while lines come in, and End follows again") {
  Headless h;
  auto events = notes(200);
  View view = view_at(events);
  focus_on(h.desk, RegionId::heard);
  h.frame(view);
  h.frame(view, {{GLFW_KEY_PAGE_UP, 0}});
  h.frame(view, {{GLFW_KEY_PAGE_UP, 0}});
  REQUIRE_FALSE(h.desk.heard.list.following);
  auto anchor = h.desk.heard.list.anchor;
  float cut = h.desk.heard.list.cut;
  for (int i = 0; i < 5; ++i) events.push_back(note("Later.", start + 300min + i * 1min));
  // One of them is late: it belongs far above what is in sight.
  events.push_back(note("Late word from the first minutes.", start + 30s));
  view = view_at(events);
  h.frames(view, 3);
  CHECK_FALSE(h.desk.heard.list.following);
  CHECK(h.desk.heard.list.anchor == anchor);
  CHECK(h.desk.heard.list.cut == cut);
  h.frame(view, {{GLFW_KEY_END, 0}});
  CHECK(h.desk.heard.list.following);
}

TEST_CASE("the wheel looks back, and to the end it follows") {
  Headless h;
  View view = view_at(notes(200));
  h.frame(view);
  h.point(100, 500);
  h.wheel(3);
  h.frame(view);
  CHECK_FALSE(h.desk.heard.list.following);
  h.wheel(-200);
  h.frame(view);
  CHECK(h.desk.heard.list.following);
}

TEST_CASE("a filter shows its lines only, and Escape shows all again") {
  Headless h;
  View view = view_at(notes(40));
  focus_on(h.desk, RegionId::heard);
  h.frame(view);
  h.frame(view, {{GLFW_KEY_S, 0}});
  h.frame(view);
  CHECK(h.desk.heard.filter.speaker == "FIELD-1");
  CHECK(h.desk.heard.list.rows.size() == 20);
  h.frame(view, {{GLFW_KEY_ESCAPE, 0}});
  h.frame(view);
  CHECK(h.desk.heard.list.rows.size() == 40);
}

TEST_CASE("search finds words whatever their case") {
  stonecall::picture::HeardLine line{
      note("Mostly grey Vesicular basalt.", start), false, false, {}};
  CHECK(passes({HeardFilter::Show::all, "", "vesicular BASALT", ""}, line, {}));
  CHECK_FALSE(passes({HeardFilter::Show::all, "", "scoria", ""}, line, {}));
  CHECK_FALSE(passes({HeardFilter::Show::samples, "", "", ""}, line, {}));
}

TEST_CASE("lines added at the end leave the measured ones as they are") {
  Headless h;
  HeardRows rows;
  auto events = notes(50);
  rows.follow(stonecall::picture::fold(events), {}, 300, h.fonts);
  rows.heights().set(10, 123);
  events.push_back(note("After.", start + 100min));
  rows.follow(stonecall::picture::fold(events), {}, 300, h.fonts);
  CHECK(rows.size() == 51);
  CHECK(rows.heights().height(10) == 123);
}

TEST_CASE("another width measures anew") {
  Headless h;
  HeardRows rows;
  auto picture = stonecall::picture::fold(notes(50));
  rows.follow(picture, {}, 300, h.fonts);
  double wide = rows.heights().total();
  rows.follow(picture, {}, 90, h.fonts);
  CHECK(rows.heights().total() > wide);
}

TEST_CASE("the frame draws the lines in sight and not the hundred thousand above them") {
  Headless h;
  View few = view_at(notes(100));
  h.frames(few, 2);
  std::size_t vertices = h.vertices();
  View many = view_at(notes(20000));
  h.frames(many, 2);
  CHECK(h.vertices() < vertices * 2);
}

TEST_CASE("a proposal is accepted by Enter as a reading of its note") {
  using namespace stonecall::protocol;
  Headless h;
  auto said = note("Of ten, seven basalt.", start);
  stonecall::desk::View view = view_at({said});
  Tally tally{{{"basalt", 7}}, 10, {}};
  view.proposals =
      std::make_shared<const Proposals>(Proposals({{said->id, {Proposal{{0, 20}, tally}}}}));
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  Commands asked = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(asked.size() == 1);
  const auto& reading = std::get<Reading>(std::get<ask::Post>(asked[0]).body);
  CHECK(reading.note == said->id);
  CHECK(reading.outcome == Outcome::accepted);
  CHECK(reading.fact == Fact{tally});
}

TEST_CASE("a key that counts at once is not for a line that was scrolled away from") {
  using namespace stonecall::protocol;
  Headless h;
  auto events = notes(200);
  const Tally tally{{{"basalt", 7}}, 10, {}};
  stonecall::desk::View view = view_at(events);
  view.proposals = std::make_shared<const Proposals>(
      Proposals({{events.back()->id, {Proposal{{0, 4}, tally}}}}));
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view);
  REQUIRE(h.desk.chosen.event == events.back()->id);
  const auto key = GENERATE(Chord{GLFW_KEY_ENTER, 0}, Chord{GLFW_KEY_D, 0}, Chord{GLFW_KEY_A, 0},
                            Chord{GLFW_KEY_P, 0});
  h.frame(view, {{GLFW_KEY_HOME, 0}});
  CHECK(h.frame(view, {key}).empty());
  const auto texts = h.read_frame(view);
  CHECK(std::ranges::find(texts, "tally of 10: basalt 7") != texts.end());
  CHECK(h.frame(view, {key}).size() == 1);
}

TEST_CASE("the arrows begin at what is in sight, not at a line that was scrolled away from") {
  Headless h;
  const auto events = notes(200);
  const View view = view_at(events);
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_HOME, 0}});
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view);
  CHECK(h.desk.chosen.event == events.front()->id);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view);
  CHECK(h.desk.chosen.event == events[1]->id);
  h.frame(view, {{GLFW_KEY_END, 0}});
  h.frame(view, {{GLFW_KEY_UP, 0}});
  h.frame(view);
  CHECK(h.desk.chosen.event == events.back()->id);
  h.frame(view, {{GLFW_KEY_UP, 0}});
  h.frame(view);
  CHECK(h.desk.chosen.event == events[198]->id);
}

TEST_CASE("what was decided is proposed no more") {
  using namespace stonecall::protocol;
  auto said = note("Of ten, seven basalt.", start);
  Tally tally{{{"basalt", 7}}, 10, {}};
  stonecall::desk::View view;
  view.proposals =
      std::make_shared<const Proposals>(Proposals({{said->id, {Proposal{{0, 20}, tally}}}}));
  stonecall::picture::HeardLine line{said, false, false, {}};
  CHECK(undecided(view, line).size() == 1);
  line.readings.change().push_back({random_uuid(),
                                    Reading{said->id, Outcome::declined, tally, Words{0, 20}, {}},
                                    "DESK", false});
  CHECK(undecided(view, line).empty());
  line.readings.change().back().retracted = true;
  CHECK(undecided(view, line).size() == 1);
}

namespace {

using stonecall::protocol::Tally;

/// A note with two undecided proposals, chosen in its region.
struct TwoProposals {
  EventPtr said = note("Of ten, seven basalt and no scoria.", start);
  Tally tally{{{"basalt", 7}}, 10, {}};
  stonecall::protocol::Sighting none{"scoria", false, {}};
  stonecall::desk::View view = view_at({said});
  Headless h;

  TwoProposals() {
    view.proposals = std::make_shared<const Proposals>(
        Proposals({{said->id, {Proposal{{0, 20}, tally, 0.9}, Proposal{{25, 34}, none, 0.9}}}}));
    focus_on(h.desk, RegionId::heard);
    h.frame(view, {{GLFW_KEY_DOWN, 0}});
  }
  std::vector<stonecall::protocol::Reading> readings(Chord chord) {
    std::vector<stonecall::protocol::Reading> made;
    for (const Command& command : h.frame(view, {chord}))
      if (const auto* post = std::get_if<ask::Post>(&command))
        made.push_back(std::get<stonecall::protocol::Reading>(post->body));
    return made;
  }
};

}  // namespace

TEST_CASE("a key accepts all proposals of a note, each as a reading of its own") {
  TwoProposals t;
  const auto made = t.readings({GLFW_KEY_A, 0});
  REQUIRE(made.size() == 2);
  CHECK(made[0].fact == stonecall::protocol::Fact{t.tally});
  CHECK(made[1].fact == stonecall::protocol::Fact{t.none});
  for (const auto& reading : made) {
    CHECK(reading.note == t.said->id);
    CHECK(reading.outcome == stonecall::protocol::Outcome::accepted);
    CHECK_FALSE(reading.by_itself.value_or(false));
  }
}

TEST_CASE("a key declines the proposal that the arrows chose, and no other") {
  TwoProposals t;
  t.h.frame(t.view, {{GLFW_KEY_RIGHT, 0}});
  const auto made = t.readings({GLFW_KEY_D, 0});
  REQUIRE(made.size() == 1);
  CHECK(made[0].fact == stonecall::protocol::Fact{t.none});
  CHECK(made[0].outcome == stonecall::protocol::Outcome::declined);
}

TEST_CASE("an edited proposal is typed in words and posted as an edited reading of its note") {
  TwoProposals t;
  const Tally eight{{{"basalt", 8}}, 10, {}};
  t.h.read = [&](std::string_view text, const stonecall::desk::View&) {
    return text == "eight basalt of ten" ? std::vector<Proposal>{{{0, 19}, eight, 0.9}}
                                         : std::vector<Proposal>{};
  };
  t.h.frame(t.view, {{GLFW_KEY_E, 0}});
  t.h.frames(t.view, 3);
  REQUIRE(t.h.desk.entry.editing);
  CHECK_FALSE(t.h.desk.entry.typed.empty());
  t.h.type("eight basalt of ten");  // the old words stand selected
  t.h.frames(t.view, 2);
  const auto made = t.readings({GLFW_KEY_ENTER, 0});
  REQUIRE(made.size() == 1);
  CHECK(made[0].note == t.said->id);
  CHECK(made[0].fact == stonecall::protocol::Fact{eight});
  CHECK(made[0].outcome == stonecall::protocol::Outcome::edited);
}

TEST_CASE("the entry line shows what its words seem to mean while they are typed") {
  TwoProposals t;
  t.h.read = [&](std::string_view text, const stonecall::desk::View&) {
    return text.find("basalt") != std::string_view::npos
               ? std::vector<Proposal>{{{0, 12}, t.tally, 0.9}}
               : std::vector<Proposal>{};
  };
  focus_on(t.h.desk, RegionId::entry);
  t.h.frames(t.view, 2);
  t.h.type("seven ");
  t.h.frames(t.view, 2);
  CHECK(t.h.desk.entry.preview.empty());
  const std::size_t bare = t.h.vertices();
  t.h.type("basalt");
  t.h.frames(t.view, 2);
  REQUIRE(t.h.desk.entry.preview.size() == 1);
  CHECK(t.h.desk.entry.preview[0].fact == stonecall::protocol::Fact{t.tally});
  CHECK(t.h.vertices() > bare);
}

TEST_CASE("a note passes the filter of what was read from it, until that is taken back") {
  using namespace stonecall::protocol;
  stonecall::picture::HeardLine line{note("Of ten, seven basalt.", start), false, false, {}};
  const HeardFilter counts{HeardFilter::Show::counts, "", "", ""};
  CHECK_FALSE(passes(counts, line, {}));
  line.readings.change().push_back(
      {random_uuid(),
       Reading{line.event->id, Outcome::accepted, Tally{{{"basalt", 7}}, 10, {}}, {}, {}}, "DESK",
       false});
  CHECK(passes(counts, line, {}));
  line.readings.change().back().retracted = true;
  CHECK_FALSE(passes(counts, line, {}));
}

TEST_CASE("a key goes through the stations: what was said there, or of it, is shown") {
  using namespace stonecall::protocol;
  const auto event = [](Instant at, Body body) {
    Event made;
    made.id = random_uuid();
    made.at.instant = at;
    made.from = "FIELD-1";
    made.body = std::move(body);
    return std::make_shared<const Event>(std::move(made));
  };
  SampleTaken earlier;
  earlier.number = "4";
  earlier.station = "Ford";
  const std::vector<EventPtr> events{event(start, Arrival{"Ford"}),
                                     note("wet here", start + 1min),
                                     event(start + 2min, Departure{"Ford"}),
                                     note("on our way", start + 3min),
                                     event(start + 4min, Arrival{"Terrace"}),
                                     note("dry here", start + 5min),
                                     event(start + 6min, earlier)};
  Headless h;
  const stonecall::desk::View view = view_at(events);
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 2);
  CHECK(h.desk.heard.list.rows.size() == 7);
  h.frame(view, {{GLFW_KEY_T, 0}});
  CHECK(h.desk.heard.filter.station == "Ford");
  h.frame(view);
  CHECK(h.desk.heard.list.rows.size() == 4);  // arrival, note, departure, and the sample from there
  h.frame(view, {{GLFW_KEY_T, 0}});
  CHECK(h.desk.heard.filter.station == "Terrace");
  h.frame(view, {{GLFW_KEY_T, 0}});
  CHECK(h.desk.heard.filter.station.empty());
}

TEST_CASE("an arrival put right moves the lines of a filtered station") {
  using namespace stonecall::protocol;
  const auto arrival = [](std::string station) {
    Event made;
    made.id = Uuid{};
    made.at.instant = start;
    made.body = Arrival{std::move(station)};
    return std::make_shared<const Event>(std::move(made));
  };
  const auto said = note("wet here", start + 1min);
  Headless h;
  HeardRows rows;
  HeardFilter filter;
  filter.station = "Ford";
  rows.follow(stonecall::picture::fold(std::vector<EventPtr>{arrival("Ford"), said}), filter, 300,
              h.fonts);
  CHECK(rows.size() == 2);
  rows.follow(stonecall::picture::fold(std::vector<EventPtr>{arrival("Terrace"), said}), filter,
              300, h.fonts);
  CHECK(rows.size() == 0);
}

TEST_CASE("a key goes from one line with something to decide to the next, and back") {
  using namespace stonecall::protocol;
  const Sighting none{"scoria", false, {}};
  std::vector<EventPtr> said;
  for (int i = 0; i < 6; ++i) said.push_back(note("no scoria", start + std::chrono::minutes(i)));
  stonecall::desk::View view = view_at(said);
  view.proposals = std::make_shared<const Proposals>(Proposals(
      {{said[1]->id, {Proposal{{0, 9}, none}}}, {said[4]->id, {Proposal{{0, 9}, none}}}}));
  Headless h;
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_N, 0}});
  CHECK(h.desk.chosen.event == said[1]->id);
  h.frame(view, {{GLFW_KEY_N, 0}});
  CHECK(h.desk.chosen.event == said[4]->id);
  h.frame(view, {{GLFW_KEY_N, GLFW_MOD_SHIFT}});
  CHECK(h.desk.chosen.event == said[1]->id);
}

TEST_CASE("the key goes to what is in sight first, not to what nobody decided hours ago") {
  using namespace stonecall::protocol;
  const Sighting none{"scoria", false, {}};
  std::vector<EventPtr> said = notes(400);
  stonecall::desk::View view = view_at(said);
  view.proposals = std::make_shared<const Proposals>(Proposals(
      {{said[0]->id, {Proposal{{0, 4}, none}}}, {said[398]->id, {Proposal{{0, 4}, none}}}}));
  Headless h;
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_N, 0}});
  CHECK(h.desk.chosen.event == said[398]->id);
  h.frame(view, {{GLFW_KEY_N, 0}});
  CHECK(h.desk.chosen.event == said[0]->id);
}

TEST_CASE("what an amendment changed is told in words, not in the form it is sent in") {
  using namespace stonecall::protocol;
  const auto start = stonecall::protocol::Instant{} + 1h;
  Event tally;
  tally.id = random_uuid();
  tally.at.instant = start;
  tally.from = "FIELD-1";
  tally.body = Tally{{{"scoria", 6}, {"basalt", 4}}, 10, {}};
  Event amend;
  amend.id = random_uuid();
  amend.at.instant = start + 1min;
  amend.from = "FIELD-1";
  amend.body = Amend{tally.id,
                     Json{{"counts", Json::array({Json{{"rock", "scoria"}, {"count", 4}},
                                                  Json{{"rock", "basalt"}, {"count", 6}}})}},
                     "the wrong way round"};
  CHECK(line_text(amend) == "Amended: counts becomes scoria 4, basalt 6 (the wrong way round)");
  // On the desk with what stood there before; what is shown is what is copied.
  Headless h;
  stonecall::desk::View view = view_of(
      {std::make_shared<const Event>(tally), std::make_shared<const Event>(amend)}, start + 2min);
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 2);
  h.desk.chosen.event = amend.id;
  const Commands out = h.frame(view, {{GLFW_KEY_C, GLFW_MOD_CONTROL}});
  REQUIRE(out.size() == 1);
  CHECK_THAT(std::get<ask::CopyText>(out[0]).text,
             Catch::EndsWith("Amended: counts scoria 6, basalt 4 becomes scoria 4, basalt 6 "
                             "(the wrong way round)"));
}

TEST_CASE("calls, questions and what is answered to them say what they are, among voice notes") {
  using namespace protocol;
  auto made = [n = 0](Body body, std::string from) mutable {
    Event event;
    event.id.data[15] = static_cast<std::uint8_t>(++n);
    event.at.instant = Instant(std::chrono::minutes(n));
    event.from = std::move(from);
    event.body = std::move(body);
    return std::make_shared<const Event>(std::move(event));
  };
  const auto spoken = [](const char* text) {
    Call call;
    call.text = text;
    return call;
  };
  const auto call =
      made(spoken("Get one pale breccia from above the vein before you leave"), "WREN");
  Question asked;
  asked.text = "Sample or photograph of a band, or both?";
  const auto question = made(asked, "HERON");
  Call stated = spoken("20 %: rain");
  stated.says = Says::free;
  stated.chance = 0.2;
  stated.outcome = "rain";
  const auto chance = made(stated, "WREN");
  const std::vector<EventPtr> events{
      call,
      question,
      chance,
      made(CallAnswer{call->id, Answered::heard, std::nullopt}, "HERON"),
      made(CallAnswer{call->id, Answered::declined, "too steep"}, "HERON"),
      made(Answer{question->id, "A photograph."}, "WREN"),
      made(Answer{random_uuid(), "Nobody knows to what."}, "WREN")};
  const stonecall::desk::View view = view_of(events, Instant(1h));
  Headless h;
  h.frames(view, 2);
  const auto texts = h.read_frame(view);
  const auto all = std::accumulate(texts.begin(), texts.end(), std::string(),
                                   [](std::string a, const std::string& b) { return a + b + " "; });
  CAPTURE(all);
  for (const char* words :
       {"Call: Get one pale breccia from above the vein before you leave",
        "Question: Sample or photograph of a band, or both?", "Chance stated: 20 %: rain",
        "Heard the call “Get one pale breccia from above…”.",
        "Declined the call “Get one pale breccia from above…”: too steep",
        "To “Sample or photograph of a band…”: A photograph.", "Answer: Nobody knows to what."})
    CHECK(all.find(words) != std::string::npos);
}

TEST_CASE("while the link is down a line says that it waits to go out") {
  stonecall::desk::View view;
  view.mode = Mode::live;
  view.link.kind = LinkState::Kind::lost;
  stonecall::picture::HeardLine line{note("bag thirty", start), false, false, {}};
  CHECK(line_aside(view, line) == "waits to go out");
  view.link.kind = LinkState::Kind::connected;
  CHECK(line_aside(view, line).empty());
  view.link.kind = LinkState::Kind::lost;
  auto arrived = *line.event;
  arrived.seq = 7;
  line.event = std::make_shared<const stonecall::protocol::Event>(arrived);
  CHECK(line_aside(view, line).empty());
  view.mode = Mode::replay;
  line.event = note("bag thirty", start);
  CHECK(line_aside(view, line).empty());
}

TEST_CASE("when and by whom stands beside the first line in sight of what was said") {
  const std::string long_note =
      "We are on the shelf below the crest now and there is grey basalt everywhere underfoot, some "
      "of it vesicular, some of it dense and ringing when I hit it, and between the slabs a red "
      "scoria that crumbles, and further up a pale band that we have not been at yet.";
  std::vector<EventPtr> events;
  for (int i = 0; i < 12; ++i)
    events.push_back(note(long_note, start + i * 1min, i % 2 ? "FIELD-2" : "FIELD-1"));
  const View view = view_at(events);
  ClockText clock;
  clock.start.instant = start;
  std::size_t reaching_out = 0;
  for (float height = 840; height < 900; height += 3) {
    Headless h(1600, height);
    h.frames(view, 3);
    const Rect heard = h.desk.layout.slot_of(RegionId::heard)->area;
    const auto written = h.written_in_frame(view);
    const Canvas::Written* top = nullptr;
    for (const auto& each : written)
      if (heard.contains({each.place.x, each.place.y}) && each.text.size() > 12 &&
          long_note.find(each.text) != std::string::npos && (!top || each.place.y < top->place.y))
        top = &each;
    REQUIRE(top);
    reaching_out += !long_note.starts_with(top->text);
    const auto beside = [&](auto&& says) {
      return std::ranges::any_of(written, [&](const Canvas::Written& each) {
        return heard.contains({each.place.x, each.place.y}) && each.place.x < top->place.x &&
               std::abs(each.place.bottom() - top->place.bottom()) < 1 && says(each.text);
      });
    };
    CAPTURE(height, top->text);
    CHECK(beside([](const std::string& text) { return text.starts_with("FIELD-"); }));
    CHECK(beside([](const std::string& text) { return text.find(':') != std::string::npos; }));
    // And nowhere else does a time stand without words.
    for (const auto& each : written)
      if (heard.contains({each.place.x, each.place.y}) && each.text.starts_with("FIELD-"))
        CHECK(each.place.bottom() >= top->place.bottom() - 1);
  }
  CHECK(reaching_out > 5);
}

TEST_CASE("what is to be accepted can be read whole once its line is chosen") {
  auto events = notes(3);
  const EventPtr said =
      note("Sample three, bag sixty-three, fist size rhyolite, half buried.", start + 5min);
  events.push_back(said);
  View view = view_at(events);
  stonecall::protocol::SampleTaken taken;
  taken.number = "3";
  taken.bag = "63";
  taken.rock = "rhyolite";
  taken.size_mm = 100;
  taken.buried = stonecall::protocol::PercentRange{40, 60};
  taken.like_it = stonecall::protocol::PercentRange{20, 30};
  taken.picked = "the only pale one on the whole shelf, as far as anybody can see from here";
  Proposals::Made made;
  made[said->id] = {Proposal{{0, 9}, taken, 0.8}};
  view.proposals = std::make_shared<const Proposals>(std::move(made));
  const std::string words = chip_text(taken);
  Headless h(1280, 720);
  const auto shown = [&] {
    const Rect heard = h.desk.layout.slot_of(RegionId::heard)->area;
    std::string joined;
    for (const auto& each : h.written_in_frame(view))
      if (heard.contains({each.place.x, each.place.y}) && each.text.size() > 3 &&
          words.find(each.text) != std::string::npos)
        joined += (joined.empty() ? "" : " ") + each.text;
    return joined;
  };
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 3);
  CHECK(shown() != words);
  h.frame(view, {{GLFW_KEY_N, 0}});
  h.frames(view, 3);
  REQUIRE(h.desk.chosen.event == said->id);
  CHECK(shown() == words);
}

TEST_CASE("a line chosen by key is in sight from its first word to what can be done to it") {
  auto events = notes(40);
  for (auto& event : events)
    event = note(
        "A line that is said in so many words that it takes up more than two of them on "
        "a small screen, as most do.",
        event->at.instant);
  stonecall::protocol::Tally tally;
  tally.counts = {{"vesicular basalt", 6}, {"hydrothermal breccia", 3}, {"welded tuff", 1}};
  tally.total = 10;
  // Those at the upper edge of what is in sight, wherever that cuts them.
  const float height = GENERATE(690.0F, 700.0F, 710.0F, 720.0F, 730.0F, 740.0F, 750.0F, 760.0F);
  const std::size_t back = GENERATE(4U, 5U, 6U);
  const EventPtr said = events[events.size() - back];
  View view = view_at(events);
  Headless h(1280, height);
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 3);
  view.proposals =
      std::make_shared<const Proposals>(Proposals({{said->id, {Proposal{{0, 9}, tally, 0.8}}}}));
  h.frame(view, {{GLFW_KEY_N, 0}});
  h.frames(view, 3);
  REQUIRE(h.desk.chosen.event == said->id);
  const auto written = h.written_in_frame(view);
  const auto hint = std::ranges::find_if(
      written, [](const Canvas::Written& each) { return each.text.starts_with("Enter accept"); });
  CAPTURE(height, back);
  REQUIRE(hint != written.end());
  CHECK(hint->text.ends_with("d decline"));
  // Its first words, nearest above what can be done to it.
  float nearest = 0;
  for (const auto& each : written)
    if (each.text.starts_with("A line that") && each.place.y < hint->place.y)
      nearest = std::max(nearest, each.place.y);
  CHECK(hint->place.y - nearest < 150);
}

TEST_CASE("the words of a pinned line are cut between letters, never within one") {
  const std::string begin(199, 'a');
  const auto said = note(begin + "é, and on", start);
  Headless h;
  const stonecall::desk::View view = view_at({said});
  focus_on(h.desk, RegionId::heard);
  h.desk.chosen.event = said->id;
  const auto pins = posted<stonecall::protocol::Remark>(h.frame(view, {{GLFW_KEY_P, 0}}));
  REQUIRE(pins.size() == 1);
  CHECK(pins[0].text == begin);
}
