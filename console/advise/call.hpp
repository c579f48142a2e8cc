#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/advise/allocation.hpp"
#include "console/advise/asking.hpp"
#include "console/advise/telling.hpp"
#include "console/advise/turn_back.hpp"

/// The call to advise, and why.
namespace stonecall::advise {

/// Something a sample in hand still lacks that can only be done here.
struct MissingHere {
  std::string sample;  ///< field number or bag, as said
  std::string what;    ///< plain words: "down-sun picture"
  double minutes = 1;  ///< to do it
};

/// All that the rule looks at. Times in minutes; elapsed ones from the start of the exercise.
struct Situation {
  double now = 0;                           ///< elapsed
  std::string here;                         ///< station
  std::vector<std::string> stations_ahead;  ///< names, as Journey::ahead
  std::vector<std::string> kinds;           ///< names, as the kinds valued
  std::vector<double>
      found_here;  ///< P(at least one more of the kind within ten minutes here); or empty
  std::optional<TurnBackTimes> turn_back;  ///< none: no plan
  std::vector<MissingHere> missing;        ///< most urgent first
  std::string
      no_typical_sample;        ///< the ordinary rock here, of which none is bagged; empty: one is
  double handling_minutes = 0;  ///< of a sample, expected
  std::optional<Departure> departure;  ///< none: no basis to value one
  bool way_known = true;  ///< the plan knows this place; else no departure can be valued
  std::optional<WorthOfAsking> asking;  ///< none: not worked out
  bool counted_here = false;            ///< an unselective count exists for this station
  double plan_holds = 1;     ///< P(the plan's expected shares describe the ground); plan_trust.hpp
  double confident = 0.7;    ///< below this chance of being best, no call
  double warn_minutes = 10;  ///< the return limit speaks so long before the latest useful call
};

enum class CallKind { stay_until, move_on, get_first, ask, no_call, turn_back };

/// Which rule spoke; in this order.
enum class Rule { return_limit, documentation, value, asking, none };

struct AdvisedCall {
  CallKind kind = CallKind::no_call;
  Rule rule = Rule::none;
  Telling sentence;                    ///< the call in one plain sentence, as it would be spoken
  Telling reason;                      ///< one sentence with its figures
  Telling sureness;                    ///< how sure, in words with the chance
  std::vector<Telling> why;            ///< further reasons and what is assumed
  std::vector<Telling> would_change;   ///< what would change it
  std::optional<double> until;         ///< elapsed minutes: stay until, or leave by
  std::optional<double> useful_until;  ///< elapsed minutes: sent later, the call comes too late
  std::optional<double>
      p_best;  ///< chance that the advice beats its alternative; none: not a matter of chance
  std::optional<std::size_t> station;      ///< index of the next station; none: base, or staying
  std::optional<std::size_t> kind_wanted;  ///< index of the kind to get first
};

/// Order of rule: the return limit, always; documentation of samples in hand; the value comparison;
/// asking. Inside the noise (chance of being best below `confident`) no departure is advised.
AdvisedCall advise_call(const Situation& situation);

}  // namespace stonecall::advise
