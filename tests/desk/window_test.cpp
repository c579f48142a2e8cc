#include <set>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "console/desk/replay_source.hpp"
#include "console/desk/run.hpp"
#include "tests/desk/display.hpp"
#include "tests/desk/headless.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;

namespace {

/// A real window, a real log, and hands that press real keys.
struct Sitter {
  Display display;
  std::unique_ptr<Window> window;
  std::unique_ptr<ReplaySource> source;
  Desk desk;

  explicit Sitter(Workers workers = {}) {
    REQUIRE(display.up());
    auto opened = Window::open({"Stonecall test", 1280, 720, true});
    if (!opened) FAIL(stonecall::protocol::to_string(opened.error()));
    window = std::move(*opened);
    ReplaySetup setup;
    setup.events = hallow_beck();
    setup.name = "hallow_beck.jsonl";
    source = std::make_unique<ReplaySource>(std::move(setup), std::move(workers), Source::Wake{});
    source->seek(source->begin() + 72min);
    source->settle();
  }
  void frame() {
    auto view = source->view();
    const Fonts& fonts = window->fonts_at(desk.settings.scale_percent);
    bool typing = ImGui::GetIO().WantTextInput;
    auto pressed = window->begin_frame(
        [&](Chord chord) { return answer(desk, *view, chord, typing); }, awaits_field(desk));
    Commands commands = draw_desk(desk, *view, fonts, {}, pressed);
    window->end_frame(theme(desk.settings.theme)[Ink::ground]);
    carry_out(commands, desk, *source, {"DESK"}, window.get());
  }
  void rest() {
    frame();
    while (!window->inputs().empty()) frame();
    frame();
    frame();
    source->settle();
    frame();
  }
  void tap(int key, int mods = 0) {
    window->inputs().add(InputQueue::Key{key, glfwGetKeyScancode(key), GLFW_PRESS, mods});
    window->inputs().add(InputQueue::Key{key, glfwGetKeyScancode(key), GLFW_RELEASE, mods});
  }
  void type(std::string_view text) {
    for (char c : text) window->inputs().add(InputQueue::Letter{static_cast<unsigned char>(c)});
  }
};

std::size_t colours(const Image& image) {
  std::set<std::uint32_t> seen;
  for (std::size_t i = 0; i + 2 < image.rgb.size(); i += 3)
    seen.insert(
        static_cast<std::uint32_t>(image.rgb[i] << 16 | image.rgb[i + 1] << 8 | image.rgb[i + 2]));
  return seen.size();
}

}  // namespace

TEST_CASE("typed fast, two notes in a row are two notes, whole") {
  Sitter s;
  focus_on(s.desk, RegionId::hours);
  s.rest();
  // All of it between two frames: the key that goes to the line, words, Enter, words, Enter.
  s.tap(GLFW_KEY_F7);
  s.type("of ten, seven grey");
  s.tap(GLFW_KEY_ENTER);
  s.type("bag forty");
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  const auto& heard = s.source->view()->picture->heard;
  REQUIRE(heard.size() >= 2);
  std::set<std::string> said;
  for (std::size_t i = heard.size() - 2; i < heard.size(); ++i) {
    CHECK(heard[i].event->from == "DESK");
    said.insert(std::get<stonecall::protocol::VoiceNote>(heard[i].event->body).text);
  }
  CHECK(said == std::set<std::string>{"of ten, seven grey", "bag forty"});
}

TEST_CASE("arrow keys on the ruler move the recorded log") {
  Sitter s;
  focus_on(s.desk, RegionId::hours);
  s.rest();
  auto before = s.source->view()->now;
  s.tap(GLFW_KEY_LEFT, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(before - s.source->view()->now == 10min);
}

TEST_CASE("an allotment changed on the plan sheet holds from then on, and one key takes it back") {
  Sitter s;
  focus_on(s.desk, RegionId::heard);
  s.rest();
  const auto allotted = [&] { return s.source->view()->plan()->stations[1].allotted_minutes; };
  REQUIRE(allotted() == 40);
  s.tap(GLFW_KEY_F11);
  s.tap(GLFW_KEY_DOWN);
  s.tap(GLFW_KEY_ENTER);
  s.type("55");
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  s.tap(GLFW_KEY_ENTER, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(allotted() == 55);
  s.tap(GLFW_KEY_ESCAPE);
  s.tap(GLFW_KEY_Z, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(s.desk.focus == RegionId::heard);
  CHECK(allotted() == 40);
}

TEST_CASE(
    "a bag noted twice is found on the sheet of the link, which leads to the line that gave it") {
  Sitter s;
  focus_on(s.desk, RegionId::heard);
  s.rest();
  for (const char* number : {"801", "802"}) {
    stonecall::protocol::SampleTaken sample;
    sample.number = number;
    sample.bag = "555";
    carry_out({ask::Post{sample, std::nullopt}}, s.desk, *s.source, {"DESK"}, s.window.get());
    s.rest();
  }
  s.tap(GLFW_KEY_F12);
  s.rest();
  REQUIRE(s.desk.focus == RegionId::link);
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  CHECK(s.desk.focus == RegionId::heard);
  REQUIRE(s.desk.chosen.event);
  CHECK(*s.desk.chosen.event == s.desk.acts.back().back());
}

TEST_CASE(
    "one key puts a number right in all that was said of a sample, one takes all of it back") {
  using namespace stonecall::protocol;
  Workers workers;
  // As the reading does it: a correction of each statement about sample 801, as one proposal.
  workers.read_note = [](const Event& event, const stonecall::picture::PicturePtr& picture) {
    const auto& text = std::get<VoiceNote>(event.body).text;
    std::vector<Proposal> all;
    if (text != "that was 809") return all;
    for (const auto& line : picture->heard) {
      const auto* said = std::get_if<SampleTaken>(&line.event->body);
      if (!said || said->number != "801") continue;
      const Fact amend = Amend{line.event->id, Json{{"number", "809"}}, text};
      if (all.empty())
        all.push_back({{0, 12}, amend, 0.9});
      else
        all[0].also_amends.push_back(line.event->id);
    }
    return all;
  };
  Sitter s(std::move(workers));
  focus_on(s.desk, RegionId::heard);
  s.rest();
  SampleTaken sample;
  sample.number = "801";
  for (const char* bag : {"555", "555", "555"}) {
    sample.bag = bag;
    carry_out({ask::Post{sample, std::nullopt}}, s.desk, *s.source, {"DESK"}, s.window.get());
    s.rest();
  }
  s.tap(GLFW_KEY_F7);
  s.type("that was 809");
  s.tap(GLFW_KEY_ENTER);
  s.tap(GLFW_KEY_ESCAPE);
  s.rest();
  const auto numbered = [&](const char* number) {
    const auto& samples = s.source->view()->picture->samples;
    return std::ranges::count(samples, number, &stonecall::picture::Sample::number);
  };
  REQUIRE(numbered("801") == 1);
  s.tap(GLFW_KEY_END);
  s.tap(GLFW_KEY_N);
  s.rest();
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  CHECK(numbered("801") == 0);
  CHECK(numbered("809") == 1);
  s.tap(GLFW_KEY_Z, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(numbered("801") == 1);
  CHECK(numbered("809") == 0);
}

TEST_CASE(
    "in the empty entry line Ctrl+Z takes the last act back, while words stand there it does not") {
  Sitter s;
  focus_on(s.desk, RegionId::entry);
  s.rest();
  const auto lines = [&] {
    const auto& heard = s.source->view()->picture->heard;
    return std::ranges::count_if(heard, [](const auto& line) {
      return line.event->from == "DESK" && !line.retracted &&
             std::holds_alternative<stonecall::protocol::VoiceNote>(line.event->body);
    });
  };
  s.type("bag forty");
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  REQUIRE(lines() == 1);
  s.type("and more");
  s.tap(GLFW_KEY_Z, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(lines() == 1);
  for (int i = 0; i < 12; ++i) s.tap(GLFW_KEY_BACKSPACE);
  s.rest();
  REQUIRE(s.desk.entry.typed.empty());
  s.tap(GLFW_KEY_Z, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(lines() == 0);
}

TEST_CASE("while the player stands still each act is taken back, whatever came before it") {
  Sitter s;
  focus_on(s.desk, RegionId::hours);
  s.rest();
  const std::size_t pins = s.source->view()->picture->remarks.size();
  for (int i = 0; i < 8; ++i) s.tap(GLFW_KEY_M);
  s.rest();
  CHECK(s.source->view()->picture->remarks.size() == pins + 8);
  for (int i = 0; i < 8; ++i) s.tap(GLFW_KEY_Z, GLFW_MOD_CONTROL);
  s.rest();
  CHECK(s.source->view()->picture->remarks.size() == pins);
}

TEST_CASE("in a replay a chance is stated by keys, and what came of it") {
  Sitter s;
  focus_on(s.desk, RegionId::call);
  s.rest();
  const auto calls = [&] { return s.source->view()->picture->calls; };
  const std::size_t before = calls().size();
  s.tap(GLFW_KEY_S);
  s.rest();
  s.tap(GLFW_KEY_K, GLFW_MOD_CONTROL);
  s.rest();
  for (int i = 0; i < 4; ++i) {
    s.tap(GLFW_KEY_DOWN, GLFW_MOD_CONTROL);
    s.rest();
  }
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  REQUIRE(calls().size() == before + 1);
  const auto stated = calls().back();
  CHECK(stated.call.chance == 0.3);
  CHECK(stated.call.outcome == "another kind turns up here within ten minutes");
  s.desk.call.adviser = "DESK";
  s.tap(GLFW_KEY_M);
  s.tap(GLFW_KEY_N);
  s.rest();
  const auto& remarks = s.source->view()->picture->remarks;
  REQUIRE_FALSE(remarks.empty());
  CHECK(remarks.back().remark.about == stated.origin.id);
  CHECK(life_of(stated, *s.source->view()).words == "did not");
}

TEST_CASE("a line is taken back with the reason typed, and its history says so") {
  Sitter s;
  focus_on(s.desk, RegionId::heard);
  s.rest();
  s.tap(GLFW_KEY_UP);
  s.rest();
  REQUIRE(s.desk.chosen.event);
  const auto line = *s.desk.chosen.event;
  s.tap(GLFW_KEY_X);
  s.type("xsaid twice");  // the first letter is the key's own
  s.tap(GLFW_KEY_ENTER);
  s.rest();
  const auto done = stonecall::picture::alterations(*s.source->view()->picture, line);
  REQUIRE(done.size() == 1);
  CHECK(done[0].what == stonecall::picture::Alteration::What::retracted);
  CHECK(done[0].why == "said twice");
}

TEST_CASE("a picture of the desk shows it, in the theme asked for") {
  Sitter s;
  s.rest();
  Image paper = s.window->grab();
  CHECK(paper.width == 1280);
  CHECK(paper.height == 720);
  CHECK(colours(paper) > 50);
  Rgb ground = theme(ThemeName::paper)[Ink::ground];
  CHECK(Rgb{paper.rgb[0], paper.rgb[1], paper.rgb[2]} == ground);
  s.tap(GLFW_KEY_F8);
  s.rest();
  Image night = s.window->grab();
  CHECK(Rgb{night.rgb[0], night.rgb[1], night.rgb[2]} == theme(ThemeName::night)[Ink::ground]);
  CHECK(colours(night) > 50);
}

TEST_CASE("larger type rebuilds the atlas and the desk goes on") {
  Sitter s;
  s.rest();
  for (int i = 0; i < 3; ++i) {
    s.tap(GLFW_KEY_EQUAL, GLFW_MOD_CONTROL);
    s.rest();
  }
  CHECK(s.desk.settings.scale_percent == 130);
  CHECK(s.window->fonts_at(130).em(Type::text) == 18);
  CHECK(colours(s.window->grab()) > 50);
}

TEST_CASE("type is set in pixels of the screen, however the system counts a window's size") {
  // X11 counts in pixels; at a content scale of 2 type is twice as large.
  CHECK(Density::of(2, 1600, 1600).scale == 2);
  CHECK(Density::of(2, 1600, 1600).pixels == 1);
  // Wayland counts in units of two pixels there: the pointer comes in these.
  CHECK(Density::of(2, 1600, 3200).scale == 2);
  CHECK(Density::of(2, 1600, 3200).pixels == 2);
  // A window that is put away has no size.
  CHECK(Density::of(1, 0, 0).pixels == 1);
}

TEST_CASE("a window that changes its size or comes to another display is drawn until it settles") {
  Display display;
  REQUIRE(display.up());
  auto opened = Window::open({"Stonecall test", 1280, 720, false});
  REQUIRE(opened);
  Window& w = **opened;
  w.poll();
  w.take_changed();
  CHECK_FALSE(w.take_changed());
  GLFWwindow* const window = glfwGetCurrentContext();
  glfwSetWindowSize(window, 900, 700);
  bool changed = false;
  for (int i = 0; i < 100 && !changed; ++i) {
    w.wait(0.1);
    changed = w.take_changed();
  }
  CHECK(changed);
  CHECK(w.width() == 900);
  CHECK(w.height() == 700);
  // What the system calls when the window comes to a display of another scale.
  const auto called = glfwSetWindowContentScaleCallback(window, nullptr);
  REQUIRE(called);
  called(window, 2, 2);
  CHECK(w.take_changed());
}

TEST_CASE("without a display the window says what to do") {
  unsetenv("DISPLAY");
  unsetenv("WAYLAND_DISPLAY");
  auto window = Window::open({});
  REQUIRE_FALSE(window);
  CHECK(window.error().what.find("xvfb-run") != std::string::npos);
}
