#include "console/desk/replay_source.hpp"

#include <algorithm>
#include <atomic>
#include <filesystem>
#include <fstream>
#include <future>
#include <map>

#include <catch2/catch.hpp>

#include "console/advise/memory.hpp"
#include "console/desk/note_reader.hpp"
#include "console/desk/numbers_age.hpp"
#include "tests/desk/headless.hpp"
#include "tests/support/events.hpp"

using namespace stonecall::desk;
using namespace stonecall::desk::testing;
using namespace std::chrono_literals;
namespace picture = stonecall::picture;

namespace {

ReplaySetup setup(Mode mode = Mode::replay) {
  ReplaySetup s;
  s.events = hallow_beck();
  REQUIRE_FALSE(s.events.empty());
  s.name = "hallow_beck.jsonl";
  s.mode = mode;
  return s;
}

}  // namespace

TEST_CASE(
    "scrubbing anywhere, in any order, shows what a fresh fold of what was known then shows") {
  auto events = hallow_beck();
  ReplaySource source(setup(), {}, {});
  for (auto minutes : {72min, 10min, 149min, 62min, 63min, 0min}) {
    auto to = source.begin() + minutes;
    source.seek(to);
    source.settle();
    CAPTURE(minutes.count());
    auto view = source.view();
    CHECK(view->now == std::clamp<stonecall::protocol::Instant>(to, source.begin(), source.end()));
    CHECK(*view->picture == *picture::fold(picture::known_by(events, view->now)));
  }
}

TEST_CASE("a late word is shown from when it was heard, not from when it was said") {
  ReplaySource source(setup(), {}, {});
  auto heard_of = [&](std::chrono::milliseconds elapsed) {
    source.seek(source.begin() + elapsed);
    source.settle();
    for (const auto& line : source.view()->picture->heard)
      if (const auto* said = std::get_if<stonecall::protocol::VoiceNote>(&line.event->body))
        if (said->text.starts_with("Can you hear us?")) return true;
    return false;
  };
  CHECK_FALSE(heard_of(64min));
  CHECK(heard_of(67min));
}

TEST_CASE("stepping goes from event to event and back") {
  ReplaySource source(setup(), {}, {});
  source.seek(source.begin() + 60min);
  source.settle();
  auto before = source.view()->picture->events;
  source.step(1);
  source.settle();
  CHECK(source.view()->picture->events == before + 1);
  source.step(-1);
  source.settle();
  CHECK(source.view()->picture->events == before);
}

TEST_CASE("in practice nothing beyond what was played can be seen") {
  ReplaySource source(setup(Mode::practice), {}, {});
  source.seek(source.begin() + 90min);
  source.settle();
  CHECK(source.view()->now == source.begin());
}

TEST_CASE("what is posted in a replay stands beside the log from then on") {
  auto path = std::filesystem::temp_directory_path() /
              ("stonecall-" + stonecall::protocol::to_string(stonecall::protocol::random_uuid()) +
               ".remarks");
  ReplaySetup s = setup();
  s.beside = path;
  ReplaySource source(std::move(s), {}, {});
  source.seek(source.begin() + 30min);
  source.settle();
  auto posted = note("Look at this again.", source.view()->now, "DESK");
  source.post(posted);
  source.settle();
  CHECK(source.view()->picture->heard.back().event->id == posted->id);
  source.seek(source.begin() + 10min);
  source.settle();
  for (const auto& line : source.view()->picture->heard) CHECK(line.event->id != posted->id);
  auto kept = stonecall::protocol::read_log_file(path.string());
  REQUIRE(kept);
  REQUIRE(kept->events.size() == 1);
  CHECK(*kept->events[0] == *posted);
  std::filesystem::remove(path);
}

TEST_CASE("half a line left beside the log swallows no remark that comes after it") {
  const auto path =
      std::filesystem::temp_directory_path() /
      ("stonecall-" + stonecall::protocol::to_string(stonecall::protocol::random_uuid()) +
       ".remarks");
  std::ofstream(path) << R"({"id":"6f0c7d1e-5b0a)";
  ReplaySetup s = setup();
  s.beside = path;
  ReplaySource source(std::move(s), {}, {});
  source.settle();
  for (const char* words : {"Look at this again.", "And at this."})
    source.post(note(words, source.view()->now, "DESK"));
  const auto kept = stonecall::protocol::read_log_file(path.string());
  REQUIRE(kept);
  CHECK(kept->events.size() == 2);
  CHECK(kept->faults.size() == 1);
  std::filesystem::remove(path);
}

TEST_CASE("what cannot be written down beside the log is said, and shown all the same") {
  const auto nowhere = std::filesystem::temp_directory_path() /
                       stonecall::protocol::to_string(stonecall::protocol::random_uuid()) /
                       "log.remarks";
  ReplaySetup s = setup();
  s.beside = nowhere;
  ReplaySource source(std::move(s), {}, {});
  source.settle();
  CHECK(source.view()->not_kept.empty());
  const auto posted = note("Look at this again.", source.view()->now, "DESK");
  source.post(posted);
  source.settle();
  CHECK(source.view()->not_kept.find(nowhere.string()) != std::string::npos);
  CHECK(std::ranges::any_of(source.view()->picture->heard,
                            [&](const auto& line) { return line.event->id == posted->id; }));
}

TEST_CASE("a source says from the first moment how one sits at it") {
  ReplaySource source(setup(Mode::practice), {}, {});
  CHECK(source.view()->mode == Mode::practice);
  CHECK(source.view()->playback.has_value());
}

TEST_CASE("numbers are worked out beside and come with the picture they belong to") {
  Workers workers;
  workers.assess = [](const picture::Picture& p, stonecall::protocol::Instant now,
                      stonecall::advise::Memory&) {
    stonecall::advise::Assessment a;
    a.now = now;
    a.events = p.events;
    return std::make_shared<const stonecall::advise::Assessment>(a);
  };
  ReplaySource source(setup(), workers, {});
  source.seek(source.begin() + 72min);
  source.settle();
  auto view = source.view();
  REQUIRE(view->assessment);
  CHECK(view->assessment->events == view->picture->events);
}

TEST_CASE("what is known at the end is laid beside the moment shown, and taken away again") {
  namespace advise = stonecall::advise;
  Workers workers;
  workers.assess = [](const picture::Picture& p, stonecall::protocol::Instant now,
                      advise::Memory& memory) {
    return std::make_shared<const advise::Assessment>(advise::assess_with_advice(p, now, memory));
  };
  ReplaySource source(setup(), workers, {});
  source.seek(source.begin() + 72min);
  source.settle();
  CHECK_FALSE(source.view()->end());
  source.lay_end_beside(true);
  const auto end = picture::fold(hallow_beck());
  advise::Memory fresh;
  for (auto minutes : {72min, 40min}) {
    source.seek(source.begin() + minutes);
    source.settle();
    const auto view = source.view();
    CHECK(view->playback->end_beside);
    REQUIRE(view->end());
    const AtTheEnd expected = at_the_end(*view->picture, *view->assessment, *end, fresh);
    CHECK(view->end()->whole == expected.whole);
    CHECK(view->end()->here.here == expected.here.here);
    CHECK(view->end()->here.advice == expected.here.advice);
    CHECK(view->end()->whole.basis.counted > view->assessment->whole.basis.counted);
  }
  source.lay_end_beside(false);
  source.settle();
  CHECK_FALSE(source.view()->end());
}

TEST_CASE("where the future is hidden nothing of the end is laid beside") {
  Workers workers;
  workers.assess = [](const picture::Picture& p, stonecall::protocol::Instant now,
                      stonecall::advise::Memory& memory) {
    return std::make_shared<const stonecall::advise::Assessment>(
        stonecall::advise::assess(p, now, memory));
  };
  ReplaySource source(setup(Mode::practice), workers, {});
  source.lay_end_beside(true);
  source.settle();
  const auto view = source.view();
  REQUIRE(view->assessment);
  CHECK_FALSE(view->playback->end_beside);
  CHECK_FALSE(view->at_the_end);
}

TEST_CASE("while numbers are worked out the older ones stay, and are known to be older") {
  std::promise<void> may_go_on;
  std::shared_future<void> gate = may_go_on.get_future().share();
  std::atomic<int> begun = 0;
  Workers workers;
  workers.assess = [&](const picture::Picture& p, stonecall::protocol::Instant now,
                       stonecall::advise::Memory&) {
    if (++begun > 1) gate.wait();
    stonecall::advise::Assessment a;
    a.now = now;
    a.events = p.events;
    return std::make_shared<const stonecall::advise::Assessment>(a);
  };
  ReplaySource source(setup(), workers, {});
  source.settle();
  CHECK_FALSE(outdated(*source.view()));
  source.seek(source.begin() + 72min);
  while (begun < 2) std::this_thread::yield();
  auto view = source.view();
  REQUIRE(view->assessment);
  CHECK(view->assessment->now == source.begin());
  CHECK(outdated(*view));
  may_go_on.set_value();
  source.settle();
  CHECK_FALSE(outdated(*source.view()));
}

TEST_CASE(
    "a recorded log says what it is worth jumping to; where the future is hidden it does not") {
  ReplaySource source(setup(), {}, {});
  REQUIRE(source.view()->playback->landmarks);
  const auto& landmarks = *source.view()->playback->landmarks;
  CHECK(std::is_sorted(landmarks.begin(), landmarks.end(),
                       [](const Landmark& a, const Landmark& b) { return a.at < b.at; }));
  auto last = picture::fold(hallow_beck());
  auto count = [&](Landmark::Kind kind) {
    return std::count_if(landmarks.begin(), landmarks.end(),
                         [&](const Landmark& each) { return each.kind == kind; });
  };
  CHECK(count(Landmark::Kind::call) == static_cast<std::ptrdiff_t>(last->calls.size()));
  CHECK(count(Landmark::Kind::arrival) > 0);
  CHECK(count(Landmark::Kind::sample) > 0);
  ReplaySource practice(setup(Mode::practice), {}, {});
  CHECK_FALSE(practice.view()->playback->landmarks);
}

TEST_CASE("a pin laid beside the log marks what it is about, at every moment") {
  ReplaySource source(setup(), {}, {});
  source.seek(source.begin() + 60min);
  source.settle();
  const auto line = source.view()->picture->heard.back();
  auto pin = std::make_shared<stonecall::protocol::Event>(*note("", source.view()->now, "DESK"));
  pin->body = stonecall::protocol::Remark{"why here?", line.event->id, true};
  source.post(pin);
  source.seek(source.begin() + 5min);
  source.settle();
  const auto view = source.view();
  const auto& landmarks = *view->playback->landmarks;
  auto found = std::find_if(landmarks.begin(), landmarks.end(),
                            [](const Landmark& each) { return each.words == "why here?"; });
  REQUIRE(found != landmarks.end());
  CHECK(found->beside);
  CHECK(found->at == line.event->received.value_or(line.event->at).instant);
}

TEST_CASE(
    "notes are read beside, however often the player goes over them each once, but for the "
    "newest") {
  std::atomic<int> read = 0;
  Workers workers;
  workers.read_note = [&](const stonecall::protocol::Event&, const picture::PicturePtr&) {
    ++read;
    return std::vector<Proposal>{{{0, 1}, stonecall::protocol::Sighting{"basalt", true, {}}, 1}};
  };
  ReplaySource source(setup(), workers, {});
  source.seek(source.end());
  source.settle();
  auto view = source.view();
  int notes = 0;
  for (const auto& line : view->picture->heard) {
    if (!std::holds_alternative<stonecall::protocol::VoiceNote>(line.event->body)) continue;
    ++notes;
    CHECK(view->proposals->find(line.event->id));
  }
  REQUIRE(notes > 0);
  const int once = read;
  CHECK(once == notes);
  for (auto minutes : {10min, 90min, 30min, 149min}) {
    source.seek(source.begin() + minutes);
    source.settle();
  }
  CHECK(read <= once + 4 * 16);
}

TEST_CASE(
    "what is accepted of one note is known to the undecided ones after it, and to no others") {
  using namespace stonecall::test;
  namespace protocol = stonecall::protocol;
  const auto note = [](std::uint32_t n, double minute) {
    return shared(n, minute, protocol::VoiceNote{"note " + std::to_string(n), {}, {}});
  };
  const auto decided = [](std::uint32_t n, std::uint32_t of, protocol::Fact fact) {
    protocol::Reading reading;
    reading.note = id(of);
    reading.fact = std::move(fact);
    reading.outcome = protocol::Outcome::accepted;
    return shared(n, 30, reading);
  };
  std::map<protocol::Uuid, int> read;
  // States how many samples are known.
  NoteReader reader(
      [&](const protocol::Event& event, const picture::PicturePtr& known) {
        ++read[event.id];
        protocol::SampleTaken sample;
        sample.number = std::to_string(known->samples.size());
        return std::vector<Proposal>{{{0, 4}, sample, 1}};
      },
      {});
  const auto number = [&](std::uint32_t n) {
    return *std::get<protocol::SampleTaken>(reader.proposals()->find(id(n))->at(0).fact).number;
  };
  std::vector<EventPtr> events{shared(1, 0, protocol::PlanGiven{small_plan()})};
  for (std::uint32_t n = 2; n <= 41; ++n) events.push_back(note(n, n / 2.0));
  const auto before = picture::fold(events);
  reader.want(before);
  reader.settle(events.size());
  CHECK(number(41) == "0");
  reader.want(before);  // nothing new: nothing is read again
  reader.settle(events.size());
  CHECK(read[id(41)] == 1);
  protocol::SampleTaken sample;
  sample.number = "7";
  events.push_back(decided(42, 40, sample));
  reader.want(picture::fold(events));
  reader.settle(events.size());
  CHECK(number(41) == "1");
  CHECK(number(40) == "0");  // decided
  CHECK(number(2) == "0");   // long ago
  CHECK(read[id(2)] == 1);
}
