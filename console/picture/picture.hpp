#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "console/picture/shared_list.hpp"
#include "protocol/event.hpp"

/// What is known at one moment: the result of folding the events heard so far. No statistics here.
namespace stonecall::picture {

using protocol::EventPtr;
using protocol::Instant;
using protocol::Milliseconds;
using protocol::Uuid;

/// Where a fact came from: an event, or the note whose reading was accepted.
struct Origin {
  Uuid id{};     ///< the event that stated it (a reading's own id, where it was read from a note)
  Instant at{};  ///< when it happened
  std::string from;  ///< who said it; of a reading the note's speaker
  bool operator==(const Origin&) const = default;
};

/// One stay at a station (or at the base, under the base's name).
struct Visit {
  std::string station;
  Instant arrived{};
  std::optional<Instant> left;
  bool operator==(const Visit&) const = default;
};

struct PhotoTaken {
  Origin origin;
  protocol::View view{};
  std::optional<double> direction_degrees;  ///< from north, the way the camera looked
  bool operator==(const PhotoTaken&) const = default;
};

/// Two statements about one sample that cannot both be true; the later one stands.
struct Contradiction {
  std::string member;
  std::string before;
  std::string after;
  Origin origin;  ///< of the later statement
  bool operator==(const Contradiction&) const = default;
};

/// All that was stated about one sample.
struct Sample {
  std::string number;   ///< field number; empty: none given
  std::string bag;      ///< empty: none given
  std::string rock;     ///< empty: not named yet
  std::string station;  ///< empty: not known
  Instant first{};      ///< first word of it
  bool taken = false;   ///< false: only photographs were heard of so far
  bool unselective = false;
  std::optional<protocol::Position> place;
  std::optional<protocol::Tie> tie;
  std::optional<double> size_mm;
  std::optional<protocol::PercentRange> buried;
  std::optional<protocol::PercentRange> like_it;
  std::string picked;
  std::string relation;
  std::string description;
  std::string shape;
  std::string colour;
  std::string texture;
  SharedList<PhotoTaken> photos;
  SharedList<Origin> statements;
  SharedList<Contradiction> contradictions;
  bool operator==(const Sample&) const = default;
};

/// One unselective count.
struct Look {
  Origin origin;
  std::string station;
  std::vector<protocol::RockCount> counts;
  int total = 0;
  bool operator==(const Look&) const = default;
};

struct SpokenShare {
  Origin origin;
  std::string caller;
  std::string station;
  std::string rock;
  double low = 0;  ///< fractions of the ground, 0–1
  double high = 1;
  double best = 0.5;
  bool operator==(const SpokenShare&) const = default;
};

/// A kind named as present, or as absent so far.
struct Sighting {
  Origin origin;
  std::string station;
  std::string rock;
  bool present = true;
  bool operator==(const Sighting&) const = default;
};

struct Reply {
  Origin origin;
  protocol::Answered answer{};
  std::string text;
  bool operator==(const Reply&) const = default;
};

struct CallMade {
  Origin origin;
  protocol::Call call;
  std::optional<Instant> received;  ///< when the server had it
  std::vector<Reply> replies;       ///< in order of time
  bool operator==(const CallMade&) const = default;
};

struct QuestionAsked {
  Origin origin;
  protocol::Question question;
  std::vector<std::pair<Origin, std::string>> answers;
  bool operator==(const QuestionAsked&) const = default;
};

struct Remarked {
  Origin origin;
  protocol::Remark remark;
  bool operator==(const Remarked&) const = default;
};

/// Something a person should look at: nothing is dropped silently.
struct Flag {
  enum class What {
    same_bag,             ///< two samples carry one bag number
    contradiction,        ///< two statements about a sample
    no_such_target,       ///< an amend, retraction, answer … names an event that has not come
    amendment_refused,    ///< an amend would make the event invalid
    departure_elsewhere,  ///< left a station where the party was not
    photo_without_sample,
    outside_vocabulary,  ///< a rock the plan does not list
    unplanned_station,
    lost,  ///< an event that the server's store did not keep whole
  };
  What what{};
  std::string text;  ///< in plain words
  Uuid about{};      ///< the event
  bool operator==(const Flag&) const = default;
};

struct ReadingMade {
  Uuid id{};
  protocol::Reading reading;  ///< as amended
  std::string from;           ///< who accepted, edited or declined it
  bool retracted = false;
  EventPtr first{};  ///< as it came, where it was amended since; else null
  bool operator==(const ReadingMade& other) const;
};

/// What was read from a note, in order of its words. Copies share them until one of them changes.
class Readings {
 public:
  using value_type = ReadingMade;
  using const_iterator = std::vector<ReadingMade>::const_iterator;
  using iterator = const_iterator;

  const_iterator begin() const { return all().begin(); }
  const_iterator end() const { return all().end(); }
  std::size_t size() const { return all().size(); }
  bool empty() const { return all().empty(); }
  const ReadingMade& operator[](std::size_t i) const { return all()[i]; }
  const ReadingMade& front() const { return all().front(); }
  const ReadingMade& back() const { return all().back(); }
  /// To be written to.
  std::vector<ReadingMade>& change() { return held_ ? held_.change() : held_.emplace(); }
  bool operator==(const Readings&) const = default;

 private:
  const std::vector<ReadingMade>& all() const {
    static const std::vector<ReadingMade> none;
    return held_ ? *held_ : none;
  }
  protocol::Apart<std::vector<ReadingMade>> held_;
};

/// A line of what was heard: an event with its later history.
struct HeardLine {
  EventPtr event;  ///< as amended
  bool amended = false;
  bool retracted = false;
  Readings readings;    ///< of a voice note
  EventPtr first{};     ///< as it came, where it was amended since; else null
  EventPtr replaced{};  ///< of a plan: the plan that held before it; else null
  bool operator==(const HeardLine& other) const;
};

/// A stretch in which words from the field came late or not at all.
struct Outage {
  Instant from{};
  Instant until{};
  bool operator==(const Outage&) const = default;
};

/// What was told, fact by fact. Cheap to copy and to keep: the long lists share what they have in
/// common with those of other moments.
struct Told {
  protocol::Apart<protocol::Plan> plan;
  SharedList<Visit> visits;    ///< in order; only the last may be open
  SharedList<Sample> samples;  ///< in order of the first word of each
  SharedList<Look> looks;
  SharedList<SpokenShare> shares;
  SharedList<Sighting> sightings;
  SharedList<CallMade> calls;
  SharedList<QuestionAsked> questions;
  SharedList<Remarked> remarks;
  SharedList<Flag> flags;
  /// All events but readings of a note that is here, in order of time.
  SharedList<HeardLine> heard;
  std::size_t not_understood = 0;  ///< events of an unknown kind

  bool operator==(const Told&) const = default;
};

struct Picture : Told {
  std::vector<std::string>
      kinds;  ///< rocks: the plan's vocabulary in its order, then others as first heard of
  std::size_t events = 0;  ///< folded, retracted ones included

  bool operator==(const Picture&) const = default;
};

using PicturePtr = std::shared_ptr<const Picture>;

/// Planned start, or the first event where there is no plan; the epoch where there is nothing.
Instant start_of(const Picture& picture);

/// The stay that is going on at `now` (arrived, not left); null while walking.
const Visit* visit_at(const Picture& picture, Instant now);

/// The last stay begun at or before `now`, ended or not; null before the first.
const Visit* last_visit(const Picture& picture, Instant now);

/// Time spent at a station over all stays up to `now`.
Milliseconds time_at(const Picture& picture, const std::string& station, Instant now);

/// When a kind was first known to be present (sample, sighting, count or share), here or anywhere
/// (no station).
std::optional<Instant> first_seen(const Picture& picture, const std::string& rock,
                                  const std::optional<std::string>& station = {});

/// The last word from the field: the latest time anything from a field sender happened; none before
/// the first.
std::optional<Instant> last_word(const Picture& picture);

bool is_field(const Picture& picture, const std::string& sender);

/// Does the plan say who this is?
bool is_named(const Picture& picture, const std::string& sender);

/// Does its sender speak for the field? What is done at a desk as a rule (calls, answers, remarks,
/// corrections, plans), by somebody whom the plan does not name, is not.
bool speaks_for_field(const Picture& picture, const protocol::Event& event);

/// The same of what is said in it: a note that names its speaker is theirs, whoever wrote it down.
bool is_word_of_field(const Picture& picture, const protocol::Event& event);

/// Stretches in which the field spoke and nothing came through: between `at` and `received` of
/// events that took more than a minute longer than the link's delay, unless others were received in
/// time meanwhile. Merged.
std::vector<Outage> outages(const Picture& picture);

}  // namespace stonecall::picture
