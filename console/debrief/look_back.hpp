#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "console/advise/assessment.hpp"
#include "console/advise/evidence.hpp"
#include "console/debrief/followed.hpp"
#include "console/picture/picture.hpp"
#include "protocol/fault.hpp"

/// A finished exercise looked back on: what a debrief is about, as data. Pure: no clock, no file.
namespace stonecall::debrief {

using picture::Instant;
using picture::Milliseconds;

/// What was read of a log.
struct Material {
  std::string name;  ///< of the file
  std::vector<protocol::EventPtr> events;
  std::vector<protocol::Fault> faults;
};

/// A station as planned and as walked.
struct Stop {
  std::string station;
  std::optional<Milliseconds> planned_arrival;  ///< elapsed; none: not in the plan
  std::optional<double> allotted_minutes;
  std::vector<picture::Visit> stays;
  Milliseconds stayed{};  ///< all stays
  advise::Ground ground;  ///< as known at the end
  int documented = 0;     ///< of its samples, fully
  int bagged = 0;
};

/// A call with what was known when it was made.
struct CallThen {
  std::size_t call = 0;  ///< index into the picture's calls
  std::string station;   ///< where the party was, as was known; empty: walking, or not begun
  Instant start{};       ///< what elapsed times of `then` are counted from: a later plan may differ
  advise::Assessment then;          ///< with the call that was advised on the same evidence
  std::vector<std::string> lacked;  ///< samples of the station, with what each lacked: "8: …"
  std::vector<picture::Gap> sample_lacked;  ///< of the sample that the call names
  std::size_t on_the_way = 0;  ///< words from the field that had been said and not yet received
  /// Best to leave the station, with this moment's bag and with the ground and the pace as they
  /// came to be known by the end; none: not at a station, no plan, or past the latest departure.
  std::optional<Instant> best_in_hindsight;
  /// What is advised at the same moment by that; none as `then.advice`.
  std::optional<advise::Advice> advised_at_the_end;
  Followed followed;
};

struct Debrief {
  std::string name;               ///< of the log's file
  picture::PicturePtr picture;    ///< as known at the end
  Instant start{};                ///< of the exercise
  Instant end{};                  ///< of the log: last event, said or received
  std::chrono::minutes offset{};  ///< of local time
  advise::Assessment last;        ///< at the end, without advice
  std::vector<Stop> stops;        ///< those of the plan in its order, then others as walked
  std::vector<CallThen> calls;    ///< in order of time
  advise::Learned learned;        ///< each caller's bias and spread, at the end
  std::vector<advise::ShareWithCounts> spoken;  ///< what that rests on
  std::vector<picture::Outage> outages;
  std::map<std::string, std::size_t> kinds;  ///< events read, by kind
  std::vector<protocol::Fault> faults;
};

/// Calls looked back on so far, of how many.
using Progress = std::function<void(std::size_t done, std::size_t of)>;

/// For each call the events are folded up to its moment, as they had been received by then, and
/// assessed; one fold goes on from call to call. `material` holds at least one event.
Debrief look_back(const Material& material, const Progress& progress = {});

/// The call that one of Debrief::calls looks back on.
const picture::CallMade& call_made(const Debrief& debrief, std::size_t call);

/// How many calls there were that the field was to hear: chances stated for the book are none.
std::size_t calls_to_hear(const Debrief& debrief);

/// The stop of that name; null where the party never was and the plan does not know it.
const Stop* stop_at(const Debrief& debrief, const std::string& station);

/// When the party came back for good; none: it was not back when the log ends.
std::optional<Instant> back_at_base(const picture::Picture& picture);

/// When each station of the plan is to be reached, elapsed: as the plan says, else walking without
/// margin and staying as allotted from the stop before.
std::vector<Milliseconds> planned_arrivals(const protocol::Plan& plan);

}  // namespace stonecall::debrief
