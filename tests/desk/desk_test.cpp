#include <map>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/advise/memory.hpp"
#include "console/debrief/look_back.hpp"
#include "console/desk/fact_text.hpp"
#include "console/desk/link_text.hpp"
#include "console/plates/sample_text.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

namespace {

View hallow_beck_view() {
  auto events = hallow_beck();
  REQUIRE_FALSE(events.empty());
  View view = view_of(events, events.back()->at.instant);
  view.now = view.plan()->start.instant + 72min;
  return view;
}

/// The shipped exercise as it was known at 1:12, with its real figures and advice, and what was
/// known at the end.
View varrow_rim_view(std::chrono::minutes elapsed = 72min) {
  auto log = stonecall::protocol::read_log_file(STONECALL_TESTS_DESK
                                                "/../../replay_logs/varrow_rim.jsonl");
  REQUIRE(log);
  auto start = stonecall::picture::start_of(*stonecall::picture::fold(log->events));
  View view = view_of(stonecall::picture::known_by(log->events, start + elapsed), start + elapsed);
  view.assessment = std::make_shared<const stonecall::advise::Assessment>(
      stonecall::advise::assess_with_advice(*view.picture, view.now));
  view.assessed = view.picture;
  stonecall::advise::Memory memory;
  view.at_the_end = std::make_shared<const AtTheEnd>(
      at_the_end(*view.picture, *view.assessment, *stonecall::picture::fold(log->events), memory));
  view.playback->end_beside = true;
  return view;
}

}  // namespace

TEST_CASE("the desk draws at every size, scale and theme, with and without a picture") {
  struct Size {
    float width, height;
  };
  auto size =
      GENERATE(Size{640, 400}, Size{960, 1080}, Size{1280, 720}, Size{1600, 900}, Size{3840, 2160});
  auto percent = GENERATE(80, 100, 200);
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  View nothing;
  View recorded = hallow_beck_view();
  for (ThemeName name : all_themes) {
    h.desk.settings.theme = name;
    h.frames(nothing, 2);
    h.frames(recorded, 2);
    CHECK(h.vertices() > 100);
  }
}

TEST_CASE("no text is cut at the edge of its region, at any size, scale and theme") {
  struct Size {
    float width, height;
  };
  auto size = GENERATE(Size{1280, 720}, Size{960, 1080}, Size{800, 1080}, Size{640, 720},
                       Size{1600, 900}, Size{1920, 1080}, Size{3840, 2160});
  auto percent = GENERATE(80, 100, 150, 200);
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  static const View beside = varrow_rim_view();
  View recorded = beside;
  if (GENERATE(true, false)) {
    recorded.at_the_end.reset();
    recorded.playback->end_beside = false;
  }
  h.desk.chosen.rock = GENERATE(std::optional<std::string>{}, std::optional<std::string>{"dacite"});
  for (ThemeName name : all_themes) {
    h.desk.settings.theme = name;
    for (RegionId shown : {RegionId::heard, RegionId::kinds, RegionId::call, RegionId::ground,
                           RegionId::plan, RegionId::link}) {
      focus_on(h.desk, shown);
      h.frames(recorded, 2);
      std::vector<std::string> cut;
      h.desk.cut = &cut;
      h.frame(recorded);
      h.desk.cut = nullptr;
      CAPTURE(size.width, size.height, percent, name_of(shown), cut);
      CHECK(cut.empty());
    }
  }
}

TEST_CASE("in Hours and in the headings no text lies over another, however small the window") {
  struct Size {
    float width, height;
  };
  auto size = GENERATE(Size{1280, 720}, Size{960, 1080}, Size{800, 1080}, Size{640, 720},
                       Size{1600, 900}, Size{3840, 2160});
  auto percent = GENERATE(80, 100, 125, 150, 175, 200);
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  static const View recorded = varrow_rim_view();
  for (RegionId shown : all_regions) {
    focus_on(h.desk, shown);
    h.frames(recorded, 2);
    auto written = h.written_in_frame(recorded);
    std::erase_if(written, [&](const Canvas::Written& each) {
      const auto in_heading = [&](const Slot& slot) {
        const float high = 24 * h.fonts.scale();
        return Rect{slot.area.x, slot.area.y, slot.area.w, high}.contains(
            {each.place.x, each.place.y});
      };
      return !h.desk.layout.hours.contains({each.place.x, each.place.y}) &&
             std::ranges::none_of(h.desk.layout.slots, in_heading);
    });
    REQUIRE(written.size() > 5);
    for (std::size_t i = 0; i < written.size(); ++i)
      for (std::size_t j = i + 1; j < written.size(); ++j) {
        const Rect &a = written[i].place, &b = written[j].place;
        const bool over =
            a.x < b.right() && b.x < a.right() && a.y < b.bottom() && b.y < a.bottom();
        CAPTURE(size.width, size.height, percent, name_of(shown), written[i].text, written[j].text);
        CHECK_FALSE(over);
      }
  }
}

TEST_CASE(
    "that the leader decides stands with the time of departure, down to a third of a screen") {
  struct Size {
    float width, height;
  };
  auto size =
      GENERATE(Size{1280, 720}, Size{960, 1080}, Size{640, 720}, Size{1600, 900}, Size{3840, 2160});
  auto percent = GENERATE(80, 100, 125, 150, 200);
  if (size.width * 100 / static_cast<float>(percent) < 600) return;
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  static const View recorded = varrow_rim_view();
  h.frames(recorded, 2);
  const auto texts = h.read_frame(recorded);
  CAPTURE(size.width, size.height, percent);
  CHECK(std::ranges::any_of(texts, [](const std::string& text) {
    return text.find("leader decides") != std::string::npos;
  }));
}

TEST_CASE("no room is left empty in Kinds while rows of it are hidden") {
  struct Size {
    float width, height;
  };
  auto size = GENERATE(Size{1280, 720}, Size{960, 1080}, Size{800, 1080}, Size{640, 720},
                       Size{700, 1200}, Size{1600, 900}, Size{1920, 1080}, Size{3840, 2160});
  auto percent = GENERATE(80, 100, 125, 150, 200);
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  static const std::map<int, View> at_minute{
      {20, varrow_rim_view(20min)}, {72, varrow_rim_view(72min)}, {130, varrow_rim_view(130min)}};
  View recorded = at_minute.at(GENERATE(20, 72, 130));
  recorded.at_the_end.reset();
  recorded.playback->end_beside = false;
  focus_on(h.desk, RegionId::kinds);
  for (bool all : {false, true})
    for (const char* rock : {"", "dacite", "pumice"}) {
      h.desk.kinds.table.all = all;
      h.desk.chosen.rock = *rock ? std::optional<std::string>(rock) : std::nullopt;
      h.frames(recorded, 3);
      const Slot* slot = h.desk.layout.slot_of(RegionId::kinds);
      REQUIRE(slot);
      CAPTURE(size.width, size.height, percent, all, rock, h.desk.kinds.table.hidden);
      const float empty = slot->area.bottom() - h.lowest_mark(slot->area);
      constexpr float row = 23;
      if (h.desk.kinds.table.hidden > 0) CHECK(empty < row * h.fonts.scale() + 2);
    }
}

TEST_CASE("half a screen shows every kind of the exercise and what is not seen yet") {
  View recorded = varrow_rim_view();
  recorded.at_the_end.reset();
  recorded.playback->end_beside = false;
  const auto stands = [](const std::vector<std::string>& texts, std::string_view text) {
    return std::ranges::any_of(
        texts, [&](const std::string& each) { return each.find(text) != std::string::npos; });
  };
  {
    Headless h(960, 1080);
    h.frames(recorded, 2);
    const auto texts = h.read_frame(recorded);
    CHECK(h.desk.kinds.table.hidden == 0);
    for (const char* text : {"Not seen yet", "Next rock is a new kind", "Call", "Ground", "Heard"})
      CHECK(stands(texts, text));
  }
  // Larger type: Kinds is looked at, and the call stays.
  Headless h(960, 1080, 1.5F);
  focus_on(h.desk, RegionId::kinds);
  h.frames(recorded, 2);
  const auto texts = h.read_frame(recorded);
  for (const char* text : {"Not seen yet", "next rock 1", "Why", "of 0:20 allotted", "delay 15 s",
                           "2:09, leader decides", "of 15"})
    CHECK(stands(texts, text));
}

TEST_CASE(
    "the newest calls and questions are in sight beside a curve that can be read, and how many "
    "there are besides") {
  struct Desktop {
    float width, height;
  };
  const auto desktop =
      GENERATE(Desktop{1600, 900}, Desktop{1920, 1080}, Desktop{1280, 720}, Desktop{960, 1080});
  View view = varrow_rim_view();
  view.at_the_end.reset();
  view.mode = Mode::live;
  Headless h(desktop.width, desktop.height);
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  ClockText clock;
  clock.start = view.plan()->start;
  const auto written = h.written_in_frame(view);
  const Slot* slot = h.desk.layout.slot_of(RegionId::call);
  REQUIRE(slot);
  std::size_t in_sight = 0;
  float curve_from = 0, curve_to = 0;
  std::string besides;
  for (const Canvas::Written& each : written) {
    if (each.place.x < slot->area.x || each.place.y < slot->area.y ||
        each.place.y > slot->area.bottom() || each.place.x > slot->area.right())
      continue;
    if (each.text.starts_with("worth per minute")) curve_from = each.place.y;
    if (each.text == "1:30") curve_to = each.place.y;
    if (each.text.ends_with(" older")) besides = each.text;
    for (const auto& call : view.picture->calls)
      in_sight += each.text == clock.seconds(call.origin.at) ? 1 : 0;
    for (const auto& question : view.picture->questions)
      in_sight += each.text == clock.seconds(question.origin.at) ? 1 : 0;
  }
  CAPTURE(desktop.width, desktop.height);
  CHECK(in_sight >= 2);
  const std::size_t all = view.picture->calls.size() + view.picture->questions.size();
  CHECK(besides == std::to_string(all - in_sight) + " older");
  // Of it the name of the axis and the times below take 28.
  REQUIRE(curve_to > 0);
  CHECK(curve_to - curve_from - 28 >= 80);
}

TEST_CASE("on the way, where nothing is weighed, Ground stands below Call in a low window too") {
  for (const auto& [elapsed, stands] : {std::pair{72min, false}, std::pair{130min, true}}) {
    View view = varrow_rim_view(elapsed);
    view.at_the_end.reset();
    Headless h(1280, 720);
    h.frames(view, 2);
    CHECK(h.desk.layout.slot_of(RegionId::call) != nullptr);
    CHECK((h.desk.layout.slot_of(RegionId::ground) != nullptr) == stands);
  }
}

TEST_CASE("a plan begun from a map, without planned times, shows its stations on the ruler too") {
  View view = hallow_beck_view();
  auto plan = *view.plan();
  for (auto& station : plan.stations) station.arrive_minutes.reset();
  stonecall::protocol::Event given;
  given.at = plan.start;
  given.from = "WREN";
  given.body = stonecall::protocol::PlanGiven{plan};
  view = view_of({std::make_shared<const stonecall::protocol::Event>(given)},
                 plan.start.instant + 1min);
  Headless h;
  h.frames(view, 2);
  const auto written = h.written_in_frame(view);
  for (const auto& station : plan.stations) {
    CAPTURE(station.station);
    CHECK(std::ranges::any_of(written, [&](const Canvas::Written& each) {
      return each.place.y < h.desk.layout.hours.bottom() &&
             each.text.substr(0, 5) == station.station.substr(0, 5);
    }));
  }
  focus_on(h.desk, RegionId::plan);
  h.frames(view, 2);
  const auto texts = h.read_frame(view);
  const auto first = stonecall::debrief::planned_arrivals(plan).front();
  ClockText clock;
  clock.start = plan.start;
  CHECK(std::ranges::find(texts, clock.minutes(plan.start.instant + first)) != texts.end());
}

TEST_CASE("before the first station Kinds lists what the plan wants of the whole exercise") {
  View view = hallow_beck_view();
  const auto plan_event = view.picture->heard[0].event;
  REQUIRE(std::holds_alternative<stonecall::protocol::PlanGiven>(plan_event->body));
  view = view_of({plan_event}, view.plan()->start.instant + 1min);
  view.assessment = std::make_shared<const stonecall::advise::Assessment>(
      stonecall::advise::assess_with_advice(*view.picture, view.now));
  view.assessed = view.picture;
  Headless h;
  h.frames(view, 2);
  const auto texts = h.read_frame(view);
  REQUIRE_FALSE(view.plan()->wanted.empty());
  CHECK(std::ranges::find(texts, view.plan()->wanted[0].rock) != texts.end());
  CHECK(std::ranges::find(texts, "on 1 event") != texts.end());
}

TEST_CASE("the whole question stands above the answer that is being written") {
  struct Size {
    float width, height;
  };
  const auto size = GENERATE(Size{1280, 720}, Size{960, 1080}, Size{1600, 900});
  View view = varrow_rim_view();
  view.at_the_end.reset();
  view.mode = Mode::live;
  REQUIRE_FALSE(view.picture->questions.empty());
  for (const auto& asked : view.picture->questions) {
    Headless h(size.width, size.height);
    focus_on(h.desk, RegionId::call);
    h.desk.chosen.event = asked.origin.id;
    h.frames(view, 2);
    h.frame(view, {{GLFW_KEY_R, 0}});
    h.frames(view, 3);
    const auto texts = h.read_frame(view);
    CAPTURE(size.width, size.height, asked.question.text);
    const auto first = std::ranges::find_if(
        texts, [](const std::string& each) { return each.starts_with("To “"); });
    REQUIRE(first != texts.end());
    std::string read;
    for (auto each = first; each != texts.end() && !read.ends_with("”"); ++each)
      read += (read.empty() ? "" : " ") + *each;
    CHECK(read == "To “" + asked.question.text + "”");
    CHECK(std::ranges::any_of(
        texts, [](const std::string& each) { return each.starts_with("Enter answers"); }));
    CHECK(std::ranges::none_of(
        texts, [](const std::string& each) { return each.starts_with("r answers"); }));
  }
}

TEST_CASE("that the party walks is said however little room there is") {
  struct Window {
    float width, height, scale;
  };
  const auto window = GENERATE(Window{960, 1080, 1.5F}, Window{640, 720, 1}, Window{1280, 720, 2},
                               Window{1600, 900, 1});
  CAPTURE(window.width, window.scale);
  Headless h(window.width, window.height, window.scale);
  static const View walking = varrow_rim_view(132min);
  REQUIRE_FALSE(walking.assessment->clock.station);
  h.frames(walking, 2);
  const auto texts = h.read_frame(walking);
  CHECK(std::ranges::find(texts, "Here") == texts.end());
  CHECK(std::ranges::any_of(texts,
                            [](const std::string& text) { return text.starts_with("Walking"); }));
}

TEST_CASE("the advised call goes out once, and again when it was taken back") {
  View view = varrow_rim_view();
  view.at_the_end.reset();
  view.mode = Mode::live;
  const auto with = [&](std::vector<stonecall::protocol::Body> bodies) {
    View more = view;
    stonecall::picture::Fold fold;
    for (const auto& line : view.picture->heard) fold.add(line.event);
    std::uint32_t number = 0;
    for (auto& body : bodies) {
      stonecall::protocol::Event event;
      event.id.data[0] = static_cast<std::uint8_t>(++number);
      event.seq = 100'000 + number;
      event.at.instant = view.now;
      event.from = "WREN";
      event.body = std::move(body);
      fold.add(std::make_shared<const stonecall::protocol::Event>(event));
    }
    more.picture = more.assessed = fold.picture();
    auto assessment = *view.assessment;
    assessment.events = more.picture->events;
    more.assessment = std::make_shared<const stonecall::advise::Assessment>(std::move(assessment));
    return more;
  };
  Headless h;
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  const Chord send{GLFW_KEY_ENTER, GLFW_MOD_CONTROL};
  const auto sent = posted<stonecall::protocol::Call>(h.frame(view, {send}));
  REQUIRE(sent.size() == 1);
  CHECK(posted<stonecall::protocol::Call>(h.frame(view, {send})).empty());
  const View stands = with({sent[0]});
  h.frames(stands, 2);
  CHECK(posted<stonecall::protocol::Call>(h.frame(stands, {send})).empty());
  const View taken_back =
      with({sent[0], stonecall::protocol::Retract{stands.picture->calls.back().origin.id, {}}});
  h.frames(taken_back, 2);
  CHECK(posted<stonecall::protocol::Call>(h.frame(taken_back, {send})).size() == 1);
}

TEST_CASE("words beside the pointer make way when a key is pressed, until it moves again") {
  const View view = varrow_rim_view();
  Headless h;
  const auto tip_stands = [&](std::initializer_list<Chord> chords = {}) {
    h.frame(view, chords);
    return ImGui::GetForegroundDrawList()->VtxBuffer.Size > 0;
  };
  h.point(h.desk.layout.hours.x + 40, 80);
  h.frames(view, 2);
  CHECK(tip_stands());
  CHECK_FALSE(tip_stands({{GLFW_KEY_F5, 0}}));
  CHECK_FALSE(tip_stands());
  h.point(h.desk.layout.hours.x + 44, 80);
  CHECK(tip_stands());
}

TEST_CASE("back at the base the desk does not speak of a first station") {
  View view = varrow_rim_view(149min);
  view.at_the_end.reset();
  view.playback->end_beside = false;
  REQUIRE(view.assessment->clock.station == view.plan()->base.station);
  Headless h(1600, 900);
  h.frames(view, 2);
  const auto texts = h.read_frame(view);
  CHECK(std::ranges::any_of(
      texts, [](const std::string& text) { return text.starts_with("The party is back"); }));
}

TEST_CASE("the sample that the arrows go to stands there with its whole checklist") {
  Headless h;
  const View recorded = varrow_rim_view();
  focus_on(h.desk, RegionId::kinds);
  h.desk.chosen.rock = "andesite";
  h.frames(recorded, 2);
  std::size_t seen = 0;
  for (const auto& sample : recorded.picture->samples) {
    if (sample.rock != "andesite" || sample.first > recorded.now) continue;
    ++seen;
    h.frame(recorded, {{GLFW_KEY_RIGHT, 0}});
    h.frames(recorded, 2);
    const std::string name = stonecall::plates::sample_name(sample);
    REQUIRE(h.desk.chosen.sample == name);
    const auto texts = h.read_frame(recorded);
    CAPTURE(name, texts);
    CHECK(std::ranges::find(texts, name) != texts.end());
    for (const auto& item : stonecall::plates::checklist(sample, recorded.plan()))
      CHECK(std::ranges::any_of(
          texts, [&](const std::string& each) { return each.starts_with(item.what); }));
  }
  CHECK(seen > 3);
}

TEST_CASE("what is missing before leaving is said at the station, and no more on the way") {
  const auto said_at = [](std::chrono::minutes elapsed) {
    View recorded = varrow_rim_view(elapsed);
    recorded.at_the_end.reset();
    recorded.playback->end_beside = false;
    Headless h;
    h.frames(recorded, 2);
    const auto texts = h.read_frame(recorded);
    return std::ranges::find(texts, "Before leaving") != texts.end();
  };
  CHECK(said_at(125min));
  CHECK_FALSE(said_at(130min));
}

TEST_CASE("no text is cut on the sheet of keys and on that of a line, at any size and scale") {
  struct Size {
    float width, height;
  };
  auto size = GENERATE(Size{1280, 720}, Size{960, 1080}, Size{800, 1080}, Size{1600, 900},
                       Size{3840, 2160});
  auto percent = GENERATE(80, 100, 150, 200);
  Headless h(size.width, size.height, static_cast<float>(percent) / 100);
  static const View recorded = varrow_rim_view();
  auto cut_now = [&] {
    h.frames(recorded, 2);
    std::vector<std::string> cut;
    h.desk.cut = &cut;
    h.frame(recorded);
    h.desk.cut = nullptr;
    return cut;
  };
  for (RegionId shown : all_regions) {
    focus_on(h.desk, shown);
    h.frame(recorded, {{GLFW_KEY_F1, 0}});
    for (std::size_t pages = 0; h.desk.keys.shown; ++pages) {
      CAPTURE(size.width, size.height, percent, name_of(shown), h.desk.keys.page);
      CHECK(cut_now().empty());
      REQUIRE(pages < 8);
      h.frame(recorded, {{GLFW_KEY_F1, 0}});
    }
  }
  // A sample has the most members; a note with readings has rows for each of them.
  for (const auto& line : recorded.picture->heard) {
    const bool sample = std::holds_alternative<stonecall::protocol::SampleTaken>(line.event->body);
    if (!sample && line.readings.size() < 3) continue;
    h.desk.chosen.event = line.event->id;
    for (int key : {GLFW_KEY_H, GLFW_KEY_X}) {
      focus_on(h.desk, RegionId::heard);
      h.frames(recorded, 4);  // a field that had the keyboard lets go of it in the second
      h.frame(recorded, {{key, 0}});
      CAPTURE(size.width, size.height, percent, key, line_text(*line.event));
      REQUIRE(h.desk.focus == RegionId::line);
      CHECK(cut_now().empty());
      // Out of the field of the reason first, then out of the sheet.
      for (int escapes = 0; h.desk.focus == RegionId::line && escapes < 2; ++escapes) {
        h.frame(recorded, {{GLFW_KEY_ESCAPE, 0}});
        h.frames(recorded, 2);
      }
    }
    if (sample) break;
  }
}

TEST_CASE("the sheet of keys shows every key of the desk, on as many pages as it needs") {
  auto height = GENERATE(720.0F, 1080.0F);
  auto percent = GENERATE(100, 200);
  Headless h(1280, height, static_cast<float>(percent) / 100);
  View recorded = hallow_beck_view();
  focus_on(h.desk, RegionId::hours);
  std::size_t pages = 0;
  for (h.frame(recorded, {{GLFW_KEY_F1, 0}}); h.desk.keys.shown;
       h.frame(recorded, {{GLFW_KEY_F1, 0}})) {
    CHECK(h.desk.keys.page == pages);
    ++pages;
    REQUIRE(pages < 8);
  }
  CHECK(pages == h.desk.keys.pages);
  if (percent == 200 && height < 1000) CHECK(pages > 1);
  h.frame(recorded, {{GLFW_KEY_F1, 0}});
  h.frame(recorded, {{GLFW_KEY_ESCAPE, 0}});
  CHECK_FALSE(h.desk.keys.shown);
}

TEST_CASE("what is known at the end is laid beside in a replay alone, by one key") {
  const View replayed = varrow_rim_view();
  Headless h;
  const KeyLine* line = answer(h.desk, replayed, {GLFW_KEY_E, GLFW_MOD_CONTROL}, false);
  REQUIRE(line);
  const auto asked = h.frame(replayed, {{GLFW_KEY_E, GLFW_MOD_CONTROL}});
  REQUIRE(asked.size() == 1);
  CHECK_FALSE(std::get<ask::LayEndBeside>(asked[0]).beside);  // it is there, and goes

  const auto drawn = [](View view, bool with_end) {
    if (!with_end) {
      view.at_the_end.reset();
      view.playback->end_beside = false;
    }
    Headless fresh;
    fresh.frames(view, 3);
    return fresh.vertices();
  };
  CHECK(drawn(replayed, true) != drawn(replayed, false));

  // Elsewhere it is the future: no key asks for it, and if a source handed it over it would not be
  // drawn.
  for (Mode mode : {Mode::practice, Mode::live}) {
    View hidden = replayed;
    hidden.mode = mode;
    CHECK_FALSE(answer(h.desk, hidden, {GLFW_KEY_E, GLFW_MOD_CONTROL}, false));
    CHECK_FALSE(hidden.end());
    CHECK(drawn(hidden, true) == drawn(hidden, false));
  }
}

TEST_CASE("a text that reaches out of its region is noticed") {
  Headless h;
  ImGui::NewFrame();
  ImGui::Begin("one");
  std::vector<std::string> cut;
  const Chosen nothing;
  Canvas::Setup setup;
  setup.area = {100, 100, 200, 50};
  setup.theme = &theme(ThemeName::paper);
  setup.fonts = &h.fonts;
  setup.chosen = &nothing;
  setup.draw = ImGui::GetForegroundDrawList();
  setup.draw->PushClipRect({92, 92}, {308, 158}, true);
  setup.cut = &cut;
  Canvas canvas(setup);
  canvas.text({110, 130}, {Type::text}, Ink::ink, "fits");
  CHECK(cut.empty());
  canvas.text({280, 130}, {Type::text}, Ink::ink, "too far right");
  canvas.figures({110, 160}, {Type::text}, Ink::ink, "1:12");
  CHECK(cut == std::vector<std::string>{"too far right", "1:12"});
  setup.draw->PopClipRect();
  ImGui::End();
  ImGui::Render();
}

TEST_CASE("what is typed becomes a voice note at Enter, and the line is empty for the next") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  REQUIRE(h.desk.entry.active);
  h.type("bag thirty three, grey basalt");
  h.frame(view);
  CHECK(h.desk.entry.typed == "bag thirty three, grey basalt");
  Commands asked = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(asked.size() == 1);
  CHECK(std::get<stonecall::protocol::VoiceNote>(std::get<ask::Post>(asked[0]).body).text ==
        "bag thirty three, grey basalt");
  CHECK(awaits_field(h.desk));
  h.frame(view);
  CHECK_FALSE(awaits_field(h.desk));
  h.type("next");
  h.frames(view, 2);
  CHECK(h.desk.entry.typed == "next");
}

TEST_CASE("what is typed before the plan was heard is the field's, whoever sits at the desk") {
  Headless h;
  View view;
  view.mode = Mode::live;
  h.desk.entry.adviser = "LAMP";
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  h.type("of ten, seven basalt");
  h.frame(view);
  const auto notes = posted<stonecall::protocol::VoiceNote>(h.frame(view, {{GLFW_KEY_ENTER, 0}}));
  REQUIRE(notes.size() == 1);
  CHECK(notes[0].speaker == "FIELD");
}

TEST_CASE("what is typed is pinned to the moment as a remark, where Ctrl is held at Enter") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  CHECK(h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}}).empty());  // nothing typed
  h.type("here we should have asked");
  h.frames(view, 2);
  const Commands out = h.frame(view, {{GLFW_KEY_ENTER, GLFW_MOD_CONTROL}});
  REQUIRE(out.size() == 1);
  const auto& remark = std::get<stonecall::protocol::Remark>(std::get<ask::Post>(out[0]).body);
  CHECK(remark.text == "here we should have asked");
  CHECK(remark.pin == true);
  h.frames(view, 2);
  CHECK(h.desk.entry.typed.empty());
}

TEST_CASE("what is typed stays when the keyboard goes elsewhere") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  h.type("half a sen");
  h.frame(view);
  h.frame(view, {{GLFW_KEY_F4, 0}});
  h.frames(view, 3);
  CHECK(h.desk.focus == RegionId::kinds);
  CHECK_FALSE(h.desk.entry.active);
  CHECK(h.desk.entry.typed == "half a sen");
  h.frame(view, {{GLFW_KEY_F7, 0}});
  h.frames(view, 3);
  CHECK(h.desk.entry.active);
  CHECK(h.desk.entry.typed == "half a sen");
}

TEST_CASE("typing goes on behind what was half typed, from the first letter on") {
  Headless h;
  View view = hallow_beck_view();
  h.desk.entry.typed = "bag thirty one, ";  // restored
  focus_on(h.desk, RegionId::entry);
  while (awaits_field(h.desk)) h.frame(view);
  h.type("half buried");
  h.frames(view, 2);
  CHECK(h.desk.entry.typed == "bag thirty one, half buried");

  // Another field had the keyboard in between.
  h.frame(view, {{GLFW_KEY_F, GLFW_MOD_CONTROL}});
  h.frames(view, 2);
  h.type("opal");
  h.frames(view, 2);
  REQUIRE(h.desk.heard.filter.search == "opal");
  h.frame(view, {{GLFW_KEY_F7, 0}});
  while (awaits_field(h.desk)) h.frame(view);
  h.type(", fist size");
  h.frames(view, 2);
  CHECK(h.desk.entry.typed == "bag thirty one, half buried, fist size");
}

TEST_CASE("lines and columns that are pasted stay parted, and the clipboard is not touched") {
  Headless h;
  const View view = view_of(hallow_beck(), hallow_beck().back()->at.instant);
  static std::string clipboard;
  clipboard = "bag 31, basalt\r\nbag 32,\tscoria\n";
  ImGuiIO& io = ImGui::GetIO();
  io.KeyMap[ImGuiKey_V] = GLFW_KEY_V;
  io.GetClipboardTextFn = [](void*) -> const char* { return clipboard.c_str(); };
  const auto asked_before = io.GetClipboardTextFn;
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  io.KeyCtrl = true;
  h.frame(view, {{GLFW_KEY_V, GLFW_MOD_CONTROL}});
  io.KeyCtrl = false;
  h.frames(view, 2);
  CHECK(h.desk.entry.typed == "bag 31, basalt bag 32, scoria ");
  CHECK(clipboard == "bag 31, basalt\r\nbag 32,\tscoria\n");
  CHECK(io.GetClipboardTextFn == asked_before);
}

TEST_CASE("the arrows bring back lines said before, and the unfinished one") {
  Headless h;
  View view = hallow_beck_view();
  h.desk.entry.said = {"first", "second"};
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  h.type("unfinished");
  h.frame(view);
  auto press = [&](int key) {
    h.frame(view, {{key, 0}});
    h.frames(view, 2);
    return h.desk.entry.typed;
  };
  CHECK(press(GLFW_KEY_UP) == "second");
  CHECK(press(GLFW_KEY_UP) == "first");
  CHECK(press(GLFW_KEY_DOWN) == "second");
  CHECK(press(GLFW_KEY_DOWN) == "unfinished");
}

TEST_CASE("what was half typed comes back after other words were put right, or left") {
  auto said = note("bag thirty", stonecall::protocol::Instant{} + 1h);
  stonecall::desk::View view = view_of({said}, said->at.instant);
  Headless h;
  focus_on(h.desk, RegionId::entry);
  h.frames(view, 3);
  h.type("half a sen");
  h.frame(view);
  const int leaving = GENERATE(GLFW_KEY_ENTER, GLFW_KEY_ESCAPE);
  h.frame(view, {{GLFW_KEY_F3, 0}});
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  REQUIRE(h.desk.entry.typed == "bag thirty");
  CHECK(draft(h.desk.entry) == "half a sen");
  h.frame(view, {{GLFW_KEY_UP, 0}});  // no older line takes the place of what is put right
  h.type("bag thirty one");
  h.frames(view, 2);
  h.frame(view, {{leaving, 0}});
  h.frame(view, {{GLFW_KEY_F7, 0}});
  h.frames(view, 3);
  CHECK(h.desk.entry.typed == "half a sen");
  CHECK(draft(h.desk.entry) == "half a sen");
}

TEST_CASE("pressing and dragging on the ruler moves the player to where the pointer is") {
  Headless h;
  View view = hallow_beck_view();
  h.frames(view, 2);
  Layout layout = lay_out(1600, 900, 1, {});
  Ruler ruler = ruler_for(view, layout.hours.x, layout.hours.right());
  float y = layout.hours.bottom() - 40;
  auto seek = [](const Commands& commands) -> std::optional<stonecall::protocol::Instant> {
    for (const Command& command : commands)
      if (const auto* found = std::get_if<ask::Seek>(&command)) return found->to;
    return std::nullopt;
  };
  h.point(400, y);
  h.frame(view);
  h.hold(true);
  auto to = seek(h.frame(view));
  REQUIRE(to);
  CHECK(*to == ruler.at(400));
  h.point(700, y + 300);  // a drag that leaves the ruler goes on
  to = seek(h.frame(view));
  REQUIRE(to);
  CHECK(*to == ruler.at(700));
  h.hold(false);
  h.frame(view);
  h.point(800, y);
  CHECK_FALSE(seek(h.frame(view)));
}

TEST_CASE("a lost link is told in words: since when, and what waits") {
  View view = hallow_beck_view();
  view.mode = Mode::live;
  view.playback.reset();
  ClockText clock;
  clock.start = view.plan()->start;
  view.link.kind = LinkState::Kind::connected;
  CHECK(link_words(view, clock).empty());
  view.link.kind = LinkState::Kind::lost;
  view.link.since = clock.start.instant + 71min;
  view.link.waiting = 2;
  CHECK(link_words(view, clock) == "link lost since 1:11:00, 2 wait to go out");
  CHECK(link_words(view, clock, true) == "link lost since 1:11, 2 wait");
}

TEST_CASE("days before or after the exercise the ruler still shows its hours") {
  View view = hallow_beck_view();
  view.playback.reset();
  const auto start = view.plan()->start.instant;
  for (auto now : {start - 200h, start + 900h}) {
    view.now = now;
    const Ruler ruler = ruler_for(view, 0, 1000);
    CHECK(ruler.end - ruler.begin < 12h);
    CHECK(ruler.x(start) >= 0);
    CHECK(ruler.x(start) < 500);
  }
}

TEST_CASE("the ruler and its instants agree from end to end") {
  View view = hallow_beck_view();
  Ruler ruler = ruler_for(view, 24, 1576);
  for (float x : {24.0F, 300.0F, 1000.5F, 1576.0F})
    CHECK(ruler.x(ruler.at(x)) == Approx(x).margin(0.01));
  CHECK(ruler.at(-100) == ruler.begin);
  CHECK(ruler.at(9999) == ruler.end);
}

TEST_CASE(
    "one key changes the theme, one the way time is written, and the scale stays within its "
    "limits") {
  Headless h;
  View view = hallow_beck_view();
  h.frame(view, {{GLFW_KEY_F8, 0}});
  CHECK(h.desk.settings.theme == ThemeName::night);
  h.frame(view, {{GLFW_KEY_F9, 0}});
  CHECK(h.desk.settings.time_mode == TimeMode::local);
  for (int i = 0; i < 20; ++i) h.frame(view, {{GLFW_KEY_EQUAL, GLFW_MOD_CONTROL}});
  CHECK(h.desk.settings.scale_percent == 200);
  for (int i = 0; i < 30; ++i) h.frame(view, {{GLFW_KEY_MINUS, GLFW_MOD_CONTROL}});
  CHECK(h.desk.settings.scale_percent == 80);
}

TEST_CASE("the sheet of keys is drawn for every region, and nothing behind it is pressed") {
  Headless h;
  View view = hallow_beck_view();
  for (RegionId region : all_regions) {
    focus_on(h.desk, region);
    h.desk.keys.shown = false;
    h.frames(view, 2);
    h.frame(view, {{GLFW_KEY_F1, 0}});
    CHECK(h.desk.keys.shown);
    h.point(600, 150);
    h.hold(true);
    CHECK(h.frame(view).empty());
    h.hold(false);
    h.frame(view);
  }
}

TEST_CASE("Esc puts the sheet of keys away from every region, and nothing else") {
  Headless h;
  View view = hallow_beck_view();
  for (RegionId region : {RegionId::hours, RegionId::heard, RegionId::kinds, RegionId::call,
                          RegionId::ground, RegionId::entry, RegionId::plan, RegionId::link}) {
    CAPTURE(name_of(region));
    focus_on(h.desk, region);
    h.frames(view, 2);
    h.desk.heard.filter.speaker = "FIELD-1";
    h.desk.chosen.station = "Ford";
    h.frame(view, {{GLFW_KEY_F1, 0}});
    REQUIRE(h.desk.keys.shown);
    CHECK(h.frame(view, {{GLFW_KEY_ESCAPE, 0}}).empty());
    CHECK_FALSE(h.desk.keys.shown);
    CHECK(h.desk.focus == region);
    CHECK(h.desk.heard.filter.speaker == "FIELD-1");
    CHECK(h.desk.chosen.station == "Ford");
  }
}

TEST_CASE("a key that acts puts the sheet of keys away, so that what it does is seen") {
  Headless h;
  View view = hallow_beck_view();
  for (Chord chord : {Chord{GLFW_KEY_F4, 0}, Chord{GLFW_KEY_TAB, 0}, Chord{GLFW_KEY_F11, 0}}) {
    focus_on(h.desk, RegionId::heard);
    h.desk.keys.shown = true;
    h.frame(view, {chord});
    CHECK_FALSE(h.desk.keys.shown);
  }
  h.desk.keys.shown = true;
  h.frame(view, {{GLFW_KEY_F8, 0}});  // how the desk looks is seen on the sheet too
  CHECK(h.desk.keys.shown);
}

TEST_CASE(
    "the key that follows the key of a region at once is that region's, whatever was typed in") {
  Headless h;
  View view = hallow_beck_view();
  view.mode = Mode::live;
  for (Chord typing_somewhere : {Chord{GLFW_KEY_F7, 0}, Chord{GLFW_KEY_F, GLFW_MOD_CONTROL}}) {
    h.frame(view, {typing_somewhere});
    h.frames(view, 3);
    REQUIRE(typing(h.desk));
    h.frame(view, {{GLFW_KEY_F5, 0}});
    h.frame(view, {{GLFW_KEY_W, 0}});
    CHECK(h.desk.call.writing.what == CallWriting::What::call);
    h.frame(view, {{GLFW_KEY_ESCAPE, 0}});
    h.frame(view, {{GLFW_KEY_W, 0}});  // nor does a line that was left keep the next key
    CHECK(h.desk.call.writing.what == CallWriting::What::call);
    h.frame(view, {{GLFW_KEY_ESCAPE, 0}});
    h.frames(view, 3);
  }
}

TEST_CASE("letters that follow the key of a line at once are typed into it, and are no keys") {
  Headless h;
  View view = hallow_beck_view();
  view.mode = Mode::live;
  focus_on(h.desk, RegionId::call);
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_W, 0}});
  CHECK_FALSE(answer(h.desk, view, {GLFW_KEY_H, 0}, typing(h.desk)));
  h.frames(view, 3);
  CHECK_FALSE(answer(h.desk, view, {GLFW_KEY_H, 0}, typing(h.desk)));
  focus_on(h.desk, RegionId::heard);
  h.frames(view, 3);
  h.frame(view, {{GLFW_KEY_F, GLFW_MOD_CONTROL}});
  for (int frame = 0; frame < 4; ++frame) {
    CHECK_FALSE(answer(h.desk, view, {GLFW_KEY_S, 0}, typing(h.desk)));
    h.frame(view);
  }
}

TEST_CASE("a call that is being written goes on where it stood when the keyboard comes back") {
  Headless h;
  View view = hallow_beck_view();
  view.mode = Mode::live;
  focus_on(h.desk, RegionId::call);
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  h.type("count ten");
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_F3, 0}});
  h.frames(view, 3);
  h.type("lost");  // no field has the keyboard
  h.frames(view, 2);
  h.frame(view, {{GLFW_KEY_F5, 0}});
  h.frames(view, 3);
  h.type(" more");
  h.frames(view, 2);
  CHECK(h.desk.call.writing.typed == "count ten more");
}

TEST_CASE("Tab goes around the regions and back") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::hours);
  for (std::size_t i = 1; i <= all_regions.size(); ++i) {
    h.frame(view, {{GLFW_KEY_TAB, 0}});
    CHECK(h.desk.focus == all_regions[i % all_regions.size()]);
  }
  h.frame(view, {{GLFW_KEY_TAB, GLFW_MOD_SHIFT}});
  CHECK(h.desk.focus == RegionId::entry);
}

TEST_CASE("taking back undoes what was posted last, once") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::heard);
  auto id = stonecall::protocol::random_uuid();
  h.desk.acts = {{id}};
  Commands asked = h.frame(view, {{GLFW_KEY_Z, GLFW_MOD_CONTROL}});
  REQUIRE(asked.size() == 1);
  CHECK(std::get<stonecall::protocol::Retract>(std::get<ask::Post>(asked[0]).body).target == id);
  CHECK(std::get<ask::Post>(asked[0]).undoes);  // taking back is no act to be taken back
  CHECK(h.frame(view, {{GLFW_KEY_Z, GLFW_MOD_CONTROL}}).empty());
}

TEST_CASE(
    "sure readings of what is typed here count by themselves only where that is switched on") {
  using namespace stonecall::protocol;
  auto said = note("Of ten, seven basalt.", stonecall::protocol::Instant{} + 1h, "DESK");
  auto other = note("Of ten, six basalt.", stonecall::protocol::Instant{} + 2h, "DESK 2");
  Tally seven{{{"basalt", 7}}, 10, {}}, six{{{"basalt", 6}}, 10, {}};
  stonecall::desk::View view = view_of({said, other}, other->at.instant);
  view.mode = Mode::live;
  view.playback.reset();
  view.proposals = std::make_shared<const Proposals>(Proposals(
      {{said->id,
        {Proposal{{0, 9}, seven, 0.95}, Proposal{{10, 20}, Sighting{"scoria", true, {}}, 0.5}}},
       {other->id, {Proposal{{0, 18}, six, 0.95}}}}));
  Headless h;
  h.desk.own_notes = {said->id};
  CHECK(h.frame(view).empty());
  CHECK(h.desk.own_notes.empty());  // switched on later, it does not reach back
  h.frame(view, {{GLFW_KEY_F10, 0}});
  CHECK(h.desk.settings.accept_sure);
  h.desk.own_notes = {said->id};
  Commands asked = h.frame(view);
  REQUIRE(asked.size() == 1);  // not the unsure one, and not what another desk typed
  const auto& reading = std::get<Reading>(std::get<ask::Post>(asked[0]).body);
  CHECK(reading.note == said->id);
  CHECK(reading.fact == Fact{seven});
  CHECK(reading.by_itself == true);
  CHECK(h.frame(view).empty());
}

TEST_CASE("the words of a note are put right by an amendment that names it") {
  using namespace stonecall::protocol;
  auto said = note("bag thirty", stonecall::protocol::Instant{} + 1h);
  stonecall::desk::View view = view_of({said}, said->at.instant);
  Headless h;
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  REQUIRE(h.desk.entry.active);
  CHECK(h.desk.entry.typed == "bag thirty");
  h.type("bag thirty one");  // the old words stand selected
  h.frame(view);
  Commands asked = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(asked.size() == 1);
  const auto& amend = std::get<Amend>(std::get<ask::Post>(asked[0]).body);
  CHECK(amend.target == said->id);
  CHECK(amend.changes == Json{{"text", "bag thirty one"}});
  h.frames(view, 2);
  CHECK(h.desk.entry.typed.empty());
  CHECK(h.desk.focus == RegionId::heard);
}

TEST_CASE("words that another desk amended meanwhile are not overwritten before that is told") {
  using namespace stonecall::protocol;
  const auto said = note("bag thirty", stonecall::protocol::Instant{} + 1h);
  stonecall::desk::View view = view_of({said}, said->at.instant);
  Headless h;
  focus_on(h.desk, RegionId::heard);
  h.frame(view, {{GLFW_KEY_DOWN, 0}});
  h.frame(view, {{GLFW_KEY_W, 0}});
  h.frames(view, 3);
  h.type("bag thirty, dusty");  // the old words stand selected
  h.frame(view);
  const auto by_another = [&](auto body) {
    Event event;
    event.id = random_uuid();
    event.at.instant = said->at.instant + 1min;
    event.from = "HERON";
    event.body = std::move(body);
    return std::make_shared<const Event>(std::move(event));
  };
  const auto shows = [&](std::string_view words) {
    const auto texts = h.read_frame(view);
    return std::ranges::find(texts, words) != texts.end();
  };
  SECTION("with other words") {
    const auto theirs = by_another(Amend{said->id, Json{{"text", "bag thirty, fist size"}}, {}});
    view = view_of({said, theirs}, theirs->at.instant);
    CHECK(h.frame(view, {{GLFW_KEY_ENTER, 0}}).empty());
    CHECK(shows("amended meanwhile"));
  }
  SECTION("by taking it back") {
    const auto theirs = by_another(Retract{said->id, {}});
    view = view_of({said, theirs}, theirs->at.instant);
    CHECK(h.frame(view, {{GLFW_KEY_ENTER, 0}}).empty());
    CHECK(shows("taken back meanwhile"));
  }
  CHECK(h.desk.entry.typed == "bag thirty, dusty");
  const Commands asked = h.frame(view, {{GLFW_KEY_ENTER, 0}});
  REQUIRE(posted<Amend>(asked).size() == 1);
  CHECK(posted<Amend>(asked)[0].changes == Json{{"text", "bag thirty, dusty"}});
  h.frame(view);
  CHECK_FALSE(shows("amended meanwhile"));
}

TEST_CASE("keys jump to the next and the last call, sample, arrival, departure and pin") {
  using Kind = Landmark::Kind;
  Headless h;
  View view = hallow_beck_view();
  auto at = [&](std::chrono::minutes m) { return view.plan()->start.instant + m; };
  view.playback->landmarks = std::make_shared<const std::vector<Landmark>>(
      std::vector<Landmark>{{at(10min), Kind::sample, "", false},
                            {at(20min), Kind::call, "", false},
                            {at(72min), Kind::call, "", false},
                            {at(80min), Kind::call, "", false},
                            {at(85min), Kind::sample, "", false},
                            {at(90min), Kind::pin, "look", true}});
  focus_on(h.desk, RegionId::hours);
  h.frame(view);
  auto jump = [&](int key, int mods = 0) -> std::optional<stonecall::protocol::Instant> {
    for (const Command& command : h.frame(view, {{key, mods}}))
      if (const auto* seek = std::get_if<ask::Seek>(&command)) return seek->to;
    return std::nullopt;
  };
  CHECK(jump(GLFW_KEY_C) == at(80min));
  CHECK(jump(GLFW_KEY_C, GLFW_MOD_SHIFT) == at(20min));
  CHECK(jump(GLFW_KEY_S) == at(85min));
  CHECK(jump(GLFW_KEY_S, GLFW_MOD_SHIFT) == at(10min));
  CHECK(jump(GLFW_KEY_P) == at(90min));
  CHECK_FALSE(jump(GLFW_KEY_P, GLFW_MOD_SHIFT));
  CHECK_FALSE(jump(GLFW_KEY_D));
}

TEST_CASE("a moment is pinned by key, for the debrief") {
  Headless h;
  View view = hallow_beck_view();
  focus_on(h.desk, RegionId::hours);
  h.frame(view);
  Commands asked = h.frame(view, {{GLFW_KEY_M, 0}});
  REQUIRE(asked.size() == 1);
  const auto& remark = std::get<stonecall::protocol::Remark>(std::get<ask::Post>(asked[0]).body);
  CHECK(remark.pin == true);
  CHECK(remark.text == "pinned at 1:12:00");
}

TEST_CASE("where regions share a place, a press on a name beside the heading shows that region") {
  Headless h(640, 480);
  View recorded = hallow_beck_view();
  focus_on(h.desk, RegionId::heard);
  h.frames(recorded, 2);
  const Layout layout = lay_out(640, 480, 1, h.desk.looked_at);
  REQUIRE(layout.slots.size() == 1);
  const Rect names = layout.slots[0].names;
  // Right of "Heard" stand Kinds, Call and Ground.
  std::vector<RegionId> met;
  for (float x = names.x + 60; x < names.x + 240; x += 6) {
    h.point(x, names.y + names.h / 2);
    h.frame(recorded);
    h.hold(true);
    h.frame(recorded);
    h.hold(false);
    h.frames(recorded, 2);
    if (h.desk.focus != RegionId::heard &&
        std::find(met.begin(), met.end(), h.desk.focus) == met.end())
      met.push_back(h.desk.focus);
    focus_on(h.desk, RegionId::heard);
    h.frames(recorded, 2);
  }
  CHECK(met == std::vector{RegionId::kinds, RegionId::call, RegionId::ground});
}

TEST_CASE("the advised call can be sent by hand at the largest type in a small window") {
  Headless h(1280, 720, 2);
  View live = varrow_rim_view();
  live.mode = Mode::live;
  live.playback.reset();
  focus_on(h.desk, RegionId::call);
  h.frames(live, 2);
  const Layout layout = lay_out(1280, 720, 2, h.desk.looked_at);
  REQUIRE(layout.slot_of(RegionId::call));
  const Rect area = layout.slot_of(RegionId::call)->area;
  std::size_t sent = 0;
  for (float y = area.bottom() - 6; y > area.y && sent == 0; y -= 12) {
    h.point(area.x + 40, y);
    h.frame(live);
    h.hold(true);
    for (const Command& command : h.frame(live))
      if (const auto* post = std::get_if<ask::Post>(&command))
        sent += std::holds_alternative<stonecall::protocol::Call>(post->body) ? 1 : 0;
    h.hold(false);
    h.frames(live, 2);
  }
  CHECK(sent == 1);
}

TEST_CASE("the sheet of keys is one page in a small window, its rows beside each other") {
  Headless h(1280, 720);
  const View view = hallow_beck_view();
  for (RegionId region : all_regions) {
    focus_on(h.desk, region);
    h.desk.keys = {};
    h.frames(view, 2);
    h.frame(view, {{GLFW_KEY_F1, 0}});
    auto written = h.written_in_frame(view);
    // The sheet is drawn last.
    const auto heading = std::ranges::find(written.rbegin(), written.rend(), name_of(region),
                                           &Canvas::Written::text);
    written.erase(written.begin(), heading.base());
    CAPTURE(name_of(region));
    CHECK(h.desk.keys.shown);
    CHECK(h.desk.keys.pages == 1);
    // The first words that explain a key, column by column.
    std::map<float, float> top_of_column;
    for (const KeyLine& line : keys_of(region))
      for (const auto& each : written)
        if (std::string_view(line.words).starts_with(each.text) &&
            (each.text.size() > 12 || each.text == line.words)) {
          auto [column, fresh] = top_of_column.try_emplace(each.place.x, each.place.bottom());
          column->second = std::min(column->second, each.place.bottom());
        }
    REQUIRE_FALSE(top_of_column.empty());
    for (const auto& [x, top] : top_of_column)
      CHECK(std::abs(top - top_of_column.begin()->second) < 1);
    h.frame(view, {{GLFW_KEY_ESCAPE, 0}});
  }
}
