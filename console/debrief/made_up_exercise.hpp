#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "console/debrief/simulate.hpp"
#include "protocol/event.hpp"

/// An exercise that never was: a ground whose truth is hidden, and a party that walks it, talks as
/// parties do and answers the calls of the back room. For practice.
namespace stonecall::debrief {

/// How hard the practice is.
struct Difficulty {
  enum class Talk {
    terse,     ///< number, bag and rock; what only they can tell has to be asked for
    plain,     ///< some of it comes by itself
    talkative  ///< all of it, among chatter
  };
  Talk talk = Talk::plain;
  double patchiness = 0.1;  ///< as TrueGround::patchiness
  double surprise = 0.3;  ///< 0: the ground is as the plan expects; 1: it has nothing to do with it
  double obeys = 0.9;     ///< chance that a call is acted on
  double errs = 0.05;     ///< chance that a sample is called by another kind's name
  int outages = 0;        ///< of the link, four minutes each
  std::optional<double> delay_seconds;  ///< of the link, one way; else the plan's
  bool scribe =
      true;  ///< somebody with the party posts counts and shares; else they are only spoken
};

Difficulty easy();
Difficulty usual();
Difficulty hard();

/// What stands in the way of making up an exercise by this plan; none: nothing.
std::optional<std::string> cannot_be_made_up(const protocol::Plan& plan);

/// The same plan, difficulty, seed and calls give the same exercise. Minutes are of the exercise,
/// from its planned start.
class MadeUpExercise {
 public:
  /// The plan must be one that can be made up.
  MadeUpExercise(protocol::Plan plan, Difficulty difficulty, std::uint64_t seed);
  MadeUpExercise(const MadeUpExercise&) = delete;  // its party holds on to it
  MadeUpExercise& operator=(const MadeUpExercise&) = delete;

  /// What comes in at the back room up to that minute and has not been handed out yet, in the order
  /// it comes in. Minutes never go back.
  std::vector<protocol::EventPtr> until(double minute);

  /// The back room sends a call or a question at that minute; anything else is passed over.
  void send(const protocol::Event& event, double minute);

  bool back_at_base() const { return phase_ == Phase::over; }

  struct TrueShare {
    std::string rock;
    double share = 0;
  };
  /// What the ground of a station of the plan is made of, the commonest first.
  std::vector<TrueShare> truth(const std::string& station) const;

 private:
  enum class Phase { not_begun, walking, working, over };
  struct Said {
    double arrives = 0;
    protocol::EventPtr event;
  };
  struct Outage {
    double begin = 0, end = 0;
  };
  struct Sample {
    protocol::Uuid id{};
    std::string rock;
    std::string buried_words, relation, picked;
    protocol::PercentRange buried, like_it;
  };

  void step();
  void arrive();
  void leave();
  void tell(const Happening& happening);
  void tell_sample(std::size_t kind, std::size_t station, double begun, double done);
  void tell_look(const std::vector<std::int64_t>& counts, double minute);
  void tell_share(const estimate::SpokenShare& share, double minute);
  void hear(const protocol::Event& event, double minute);
  void act(const protocol::Event& event, const protocol::Call& call, double minute);
  static std::string describe(const std::string& number, const Sample& sample);
  void tell_more(const std::string& number, const Sample& sample, double minute);
  /// All that a sample may lack.
  void document(const std::string& number, double minute);
  void reply(const protocol::Event& event, const protocol::Question& question, double minute);

  protocol::Uuid say(double minute, const std::string& from, protocol::Body body);
  void voice(double minute, const std::string& who, std::string words);
  double through_the_link(double minute) const;
  double latest_departure(std::size_t station) const;
  double walk(const std::string& from, const std::string& to);
  std::optional<std::size_t> kind_named(const std::string& rock) const;
  const std::string& station_name(std::size_t station) const;
  double uniform(double low, double high);
  bool chance(double probability);
  template <class Words>
  const auto& any_of(const Words& words) {
    return words[std::uniform_int_distribution<std::size_t>(0, words.size() - 1)(generator_)];
  }

  const protocol::Plan plan_;
  const Difficulty difficulty_;
  Generator generator_;
  std::vector<std::string> rocks_;
  std::vector<std::string> people_;  ///< the leader first
  TrueGround ground_;
  std::optional<Party> party_;
  std::vector<Outage> outages_;

  Phase phase_ = Phase::not_begun;
  double now_ = 0;
  std::size_t station_ = 0;  ///< where they are, or where they walk to
  double arrive_ = 0;        ///< while walking
  bool homeward_ = false;
  double leave_ = 0;                 ///< while working
  std::optional<std::size_t> next_;  ///< where a call sends them
  double work_begun_ = 0;  ///< minute of the exercise at which the party's slice of work began
  double worked_ = 0;      ///< minutes of work before that slice

  std::vector<Said> on_the_way_;
  std::multimap<double, protocol::Event> sent_;         ///< by the minute it is heard
  std::multimap<double, protocol::Event> corrections_;  ///< by the minute they are made
  std::map<std::string, Sample> samples_;               ///< by number
  int number_ = 0;
};

}  // namespace stonecall::debrief
