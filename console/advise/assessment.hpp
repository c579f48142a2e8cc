#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "console/advise/telling.hpp"
#include "console/estimate/pace.hpp"
#include "console/picture/gaps.hpp"
#include "console/picture/picture.hpp"

/// The numbers an adviser is shown at one moment, worked out from a picture. Pure: the same picture
/// and moment give the same numbers, live, replayed, practised or printed.
namespace stonecall::advise {

using picture::Instant;
using picture::Milliseconds;

/// A figure is never bare: mean and central 90 % interval, in the unit of the figure.
struct Figure {
  double mean = 0;
  double low = 0;
  double high = 0;
  bool operator==(const Figure&) const = default;
};

/// What an estimate of shares rests on.
struct Basis {
  std::int64_t counted = 0;  ///< rocks in looks and unselective samples
  int looks = 0;
  int unselective = 0;  ///< samples that count as rocks looked at
  int spoken_shares = 0;
  int chosen_not_used = 0;  ///< selective samples: they never enter a share
  double design_effect =
      1;  ///< above 1: the looks disagree more than chance allows (patchy ground)
  bool any() const { return counted > 0 || spoken_shares > 0; }
  bool operator==(const Basis&) const = default;
};

/// One rock kind, at one station or over the whole exercise.
struct KindRow {
  std::string rock;
  int bagged = 0;
  int wanted = 0;                     ///< 0: not wanted by name
  int documented = 0;                 ///< fully, by the plan's standard
  std::int64_t counted = 0;           ///< in looks and unselective samples
  std::optional<Figure> share;        ///< fraction of the ground; none: no basis
  std::optional<Instant> first_seen;  ///< none: not met
  std::string label;                  ///< "typical", "uncommon" or "rare" here; empty: no basis
  double label_probability = 0;       ///< that the label is right
  std::string reach;  ///< at the other stations: "local here", "in places" or "everywhere"; empty:
                      ///< no basis, or of the whole exercise
  bool said_absent = false;  ///< named as not seen so far, and not met since
  bool operator==(const KindRow&) const = default;
};

/// A spoken share that the counts of the same station contradict (outside their 99 % predictive
/// range).
struct Disagreement {
  std::string rock;
  std::string caller;
  Instant at{};
  double said_low = 0, said_high = 1;      ///< fractions
  double counts_low = 0, counts_high = 1;  ///< 99 % predictive range of the counts
  bool operator==(const Disagreement&) const = default;
};

/// What has probably not been seen, from unselective counts only. Absent as a whole where there are
/// none.
struct NotSeenYet {
  std::int64_t counted = 0;
  int kinds_met = 0;   ///< in the counts
  Figure next_is_new;  ///< chance that the next rock looked at is of an unseen kind
  /// New kinds in ten minutes of looking, at this party's pace: the number expected and the range
  /// of the number itself (90 %, whole kinds). None: no basis for a pace.
  std::optional<Figure> new_in_ten_minutes;
  Figure chao1;                     ///< kinds there are, seen and unseen (at least)
  Figure coverage;                  ///< part of the ground's rocks whose kinds have been met
  int needed_for_five_percent = 0;  ///< rocks to look at to meet any kind of 5 % or more with 95 %
  struct Point {
    double rocks = 0;          ///< looked at
    double kinds = 0;          ///< expected number met
    double low = 0, high = 0;  ///< 90 %
    bool operator==(const Point&) const = default;
  };
  std::vector<Point>
      growth;  ///< rarefied up to now, expected beyond; the last rarefied point is at `counted`
  bool operator==(const NotSeenYet&) const = default;
};

/// Kinds at one place: a station, or the whole exercise.
struct Ground {
  std::string station;          ///< empty: whole exercise
  std::vector<KindRow> kinds;   ///< in the order of Picture::kinds
  std::optional<Figure> other;  ///< share of kinds outside the list
  Basis basis;
  std::optional<NotSeenYet> unseen;
  std::vector<Disagreement> disagreements;
  /// The commonest typical kind where none of the typical kinds is in the bag: the ordinary rock
  /// that a party hunting for oddities forgets. None: one is bagged, no kind is typical, no basis,
  /// or the whole exercise.
  std::optional<std::string> no_typical_sample;
  bool operator==(const Ground&) const = default;
};

struct Clock {
  Milliseconds elapsed{};                  ///< since the planned start
  std::optional<std::string> station;      ///< where the party is; none: walking or not begun
  Milliseconds here{};                     ///< time at this station, all stays
  std::optional<double> allotted_minutes;  ///< none: not planned
  std::optional<Milliseconds> word_age;    ///< since the last word from the field
  bool operator==(const Clock&) const = default;
};

/// When the party must turn back. An aid: the field leader's judgement and local safety rules
/// govern.
struct TurnBack {
  std::string from;            ///< station the way is reckoned from; while walking a later one
  double distance_metres = 0;  ///< along the planned way back, or the way they came and that
  double walk_minutes = 0;     ///< without margin
  double margin_percent = 0;
  Milliseconds latest_departure{};    ///< elapsed
  Milliseconds latest_useful_call{};  ///< elapsed: latest departure less link delay and reaction
  bool operator==(const TurnBack&) const = default;
};

struct PaceNow {
  Figure rocks_per_minute;          ///< looked at and told of, in station time that no sample took
  estimate::RatePosterior looking;  ///< what rocks_per_minute is of
  Figure minutes_per_sample;        ///< from the first to the last word of each
  std::int64_t rocks = 0;
  int samples = 0;
  double minutes = 0;  ///< at stations
  bool operator==(const PaceNow&) const = default;
};

struct SampleGaps {
  std::size_t sample = 0;  ///< index into Picture::samples
  std::vector<picture::Gap> gaps;
  bool operator==(const SampleGaps&) const = default;
};

/// One minute of the picture that explains the call.
struct CurvePoint {
  double minute = 0;     ///< elapsed minutes
  Figure here;           ///< worth gained per minute by staying (10–90 %)
  double elsewhere = 0;  ///< worth per minute of the best use of the same minute elsewhere
  bool operator==(const CurvePoint&) const = default;
};

/// The call that the method advises.
struct Advice {
  enum class Kind { stay_until, move_on, get_first, ask, no_call, turn_back };
  Kind kind = Kind::no_call;
  Telling sentence;                             ///< the call itself, in plain words
  Telling reason;                               ///< one sentence with its figures
  Telling sureness;                             ///< how sure, and which kinds make the difference
  std::vector<Telling> why;                     ///< assumptions, and what would change it
  std::optional<Milliseconds> depart;           ///< elapsed
  std::optional<Milliseconds> depart_earliest;  ///< 10 % of the draws' own best times
  std::optional<Milliseconds> depart_latest;    ///< 90 %
  double p_best = 0;
  double plan_holds = 1;       ///< P(the plan's expected shares describe the ground)
  std::string best_elsewhere;  ///< station; empty: none
  std::vector<CurvePoint> curve;
  bool operator==(const Advice&) const = default;
};

struct Assessment {
  Instant now{};
  std::size_t events = 0;  ///< the picture's, so that a stale assessment can be told
  Clock clock;
  Ground here;  ///< the station where the party is, or was last
  Ground whole;
  std::optional<TurnBack> turn_back;  ///< none: no plan, or back at base
  std::optional<PaceNow> pace;
  std::vector<SampleGaps>
      missing;  ///< samples of this station that lack something, in order of urgency
  std::optional<double>
      same_ground;  ///< P(this station is the same ground as the one before); none: no basis
  std::string compared_with;       ///< that station
  int bagged = 0, documented = 0;  ///< whole exercise
  std::optional<Advice> advice;    ///< none: not worked out
  bool operator==(const Assessment&) const = default;
};

/// The costly parts of earlier assessments: memory.hpp. Each function below gives the same answer
/// with a memory as without, and sooner where little changed since the memory was used last.
class Memory;

/// What is known of one station at `now`, whether or not the party is there; of the whole exercise
/// where `station` is empty.
Ground assess_ground(const picture::Picture& picture, const std::string& station, Instant now);
Ground assess_ground(const picture::Picture& picture, const std::string& station, Instant now,
                     Memory& memory);

/// See Ground::no_typical_sample; by what `ground` says of labels and bags.
std::optional<std::string> no_typical_sample(const Ground& ground);

/// Everything but the advice, which costs more.
Assessment assess(const picture::Picture& picture, Instant now);
Assessment assess(const picture::Picture& picture, Instant now, Memory& memory);

/// The call to advise, by the plan's `method` settings and seed. None: no plan, or the party is not
/// at a station.
std::optional<Advice> work_out_advice(const picture::Picture& picture, const Assessment& assessment,
                                      Memory& memory);

/// Both: what the desk and the command line show.
Assessment assess_with_advice(const picture::Picture& picture, Instant now);
Assessment assess_with_advice(const picture::Picture& picture, Instant now, Memory& memory);

}  // namespace stonecall::advise
