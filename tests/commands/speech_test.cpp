#include "console/commands/speech.hpp"

#include <string>

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/support/events.hpp"

// Notes read with what was heard before them, as the desk reads them: a proposal is made of the
// picture, accepted as it stands, and the next note is read with the picture that this gives.
using namespace stonecall::commands;
using namespace stonecall::test;
namespace picture = stonecall::picture;
namespace protocol = stonecall::protocol;
namespace reading = stonecall::reading;

namespace {

class Loop {
 public:
  Loop() {
    auto given = small_plan();
    given.people = {{"Ida", protocol::Side::field, 10}, {"BASE", protocol::Side::back_room, 10}};
    fold_.add(shared(1, 0, protocol::PlanGiven{given}));
    fold_.add(shared(2, 1, protocol::Arrival{"Ford"}));
  }

  /// Says a note and gives what it is proposed to state.
  std::vector<reading::Proposed> say(double minute, const std::string& text,
                                     const std::string& speaker = "Ida") {
    protocol::VoiceNote note;
    note.text = text;
    note.speaker = speaker;
    note_ = shared(next_++, minute, note);
    fold_.add(note_);
    return speech_.read(text, fold_.picture(), note_->at.instant);
  }

  /// Decides what the last note is proposed to state.
  void decide(const std::vector<reading::Proposed>& proposals, protocol::Outcome outcome) {
    for (const auto& proposal : proposals) {
      for (const auto& fact : reading::facts_of(proposal)) {
        protocol::Reading made;
        made.note = note_->id;
        made.fact = fact;
        made.outcome = outcome;
        made.words = proposal.words;
        fold_.add(shared(next_++, 60, made));
      }
    }
  }

  void accept(double minute, const std::string& text) {
    decide(say(minute, text), protocol::Outcome::accepted);
  }

  picture::PicturePtr picture() { return fold_.picture(); }

 private:
  picture::Fold fold_;
  Speech speech_;
  EventPtr note_;
  std::uint32_t next_ = 3;
};

template <class F>
std::vector<F> all(const std::vector<reading::Proposed>& proposals) {
  std::vector<F> facts;
  for (const auto& each : proposals)
    if (const auto* fact = std::get_if<F>(&each.fact)) facts.push_back(*fact);
  return facts;
}

/// The share that a note states alone, "slate 10-30"; empty: none, or more than that.
std::string only_share(const std::vector<reading::Proposed>& proposals) {
  const auto shares = all<protocol::Share>(proposals);
  if (shares.size() != 1) return "";
  return shares[0].rock + " " + std::to_string(std::lround(shares[0].percent.low)) + "-" +
         std::to_string(std::lround(shares[0].percent.high));
}

}  // namespace

TEST_CASE("the rest is what the shares leave that were accepted of the note before") {
  Loop loop;
  loop.accept(5, "marble is about eighty percent");
  CHECK(only_share(loop.say(6, "and the rest of it is slate")) == "slate 10-30");
}

TEST_CASE("the rest is what the note before leaves also while nobody decided on that note") {
  Loop loop;
  loop.say(5, "marble is about eighty percent");
  CHECK(only_share(loop.say(6, "and the rest of it is slate")) == "slate 10-30");
}

TEST_CASE("the rest is what is left by the share that was put in a read one's place") {
  Loop loop;
  auto proposals = loop.say(5, "marble is about eighty percent");
  REQUIRE(proposals.size() == 1);
  auto& share = std::get<protocol::Share>(proposals[0].fact);
  share.percent = {60, 60};
  share.best_percent.reset();
  loop.decide(proposals, protocol::Outcome::edited);
  CHECK(only_share(loop.say(6, "and the rest of it is slate")) == "slate 30-50");
}

TEST_CASE("a share that was declined leaves no rest") {
  Loop loop;
  loop.decide(loop.say(5, "marble is about eighty percent"), protocol::Outcome::declined);
  CHECK(loop.say(6, "and the rest of it is slate").size() <= 1);
  CHECK(only_share(loop.say(6, "and the rest of it is slate")).empty());
}

TEST_CASE("the rest is of the field's last note only, and the back room's are none") {
  Loop loop;
  loop.accept(5, "marble is about eighty percent");
  loop.say(5.5, "slate is about ninety percent", "BASE");
  CHECK(only_share(loop.say(6, "and the rest of it is slate")) == "slate 10-30");
  loop.say(7, "nice day");
  CHECK(only_share(loop.say(8, "and the rest of it is slate")).empty());
}

TEST_CASE("a number given in a later note is that of the rock picked up before") {
  Loop loop;
  loop.accept(5, "picked up a slab of slate");
  REQUIRE(loop.picture()->samples.size() == 1);
  const auto number = GENERATE("that's number four", "that's number four in bag two oh five",
                               "that's number four, it was half buried");
  loop.accept(6, number);
  CAPTURE(number);
  REQUIRE(loop.picture()->samples.size() == 1);
  const auto& sample = loop.picture()->samples[0];
  CHECK(sample.number == "4");
  CHECK(sample.rock == "slate");
  CHECK(sample.contradictions.empty());
  CHECK(sample.bag == (std::string(number).find("bag") == std::string::npos ? "" : "205"));
  CHECK(sample.buried.has_value() == (std::string(number).find("buried") != std::string::npos));
}

TEST_CASE("a number given later goes to the bag that the rock lies in") {
  Loop loop;
  loop.accept(5, "picked up a slab of slate, bag two oh five");
  loop.accept(6, "that's number four, it was half buried");
  REQUIRE(loop.picture()->samples.size() == 1);
  CHECK(loop.picture()->samples[0].number == "4");
  CHECK(loop.picture()->samples[0].bag == "205");
  CHECK(loop.picture()->samples[0].buried);
}

TEST_CASE("a number given later is no other rock's") {
  Loop loop;
  loop.accept(5, "picked up a slab of slate, bag two oh five");
  SECTION("in another bag it is a sample of its own") {
    loop.accept(6, "that's number four in bag two oh six");
    REQUIRE(loop.picture()->samples.size() == 2);
    CHECK(loop.picture()->samples[0].number.empty());
  }
  SECTION("after one was numbered the next number is not its") {
    loop.accept(6, "that's number four");
    loop.accept(7, "that's number five in bag two oh seven");
    REQUIRE(loop.picture()->samples.size() == 2);
    CHECK(loop.picture()->samples[0].number == "4");
    CHECK(loop.picture()->samples[1].number == "5");
  }
  SECTION("a picture of another number gives it none") {
    loop.accept(6, "took the down sun of number nine");
    CHECK(loop.picture()->samples[0].number.empty());
  }
}
