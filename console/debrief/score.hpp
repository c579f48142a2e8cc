#pragma once

#include <optional>
#include <string>
#include <vector>

#include "console/debrief/look_back.hpp"

/// How one adviser's calls look once all is known: for practice on recorded logs.
namespace stonecall::debrief {

/// A stay at a station and what was said of leaving it.
struct JudgedStay {
  std::string station;
  Instant arrived{};
  std::optional<Instant> left;          ///< none: still there when the log ends
  std::optional<Instant> best;          ///< to leave, in hindsight, weighed from the arrival
  std::optional<Instant> useful_until;  ///< a call to leave then had to be sent by
  std::optional<std::size_t> call;      ///< the adviser's first of leaving this stay; of the calls

  /// How long before it was of no use the call was sent; negative: too late. None: no call, or
  /// nothing to be late for.
  std::optional<Milliseconds> to_spare(const Debrief& debrief) const;
};

/// A call of the adviser's.
struct JudgedCall {
  std::size_t call = 0;              ///< index into Debrief::calls
  std::optional<Instant> leaves;     ///< when the party leaves by this call; none: it does not say
  std::optional<Instant> best;       ///< to leave, in hindsight, as things stood at the call
  std::optional<double> worth;       ///< from the call to the end, in hindsight, leaving as it says
  std::optional<double> best_worth;  ///< the same leaving at `best`

  /// The latest departure, where the call says to stay a minute or more past it: no worth of rocks
  /// makes up for that, so that none is given. As known when the call was made.
  std::optional<Instant> past_limit;

  /// Worth given away by this call, at least 0; none where it says nothing of leaving, or to leave
  /// past the limit.
  std::optional<double> regret() const;
};

/// A probability that the adviser stated.
struct StatedChance {
  std::size_t call = 0;  ///< index into Debrief::calls
  double chance = 0;
  std::string outcome;
  std::optional<bool> came_true;  ///< none: nobody has said yet
};

/// A kind that fell short of what the plan wants, or was met and never bagged.
struct MissedKind {
  std::string rock;
  int wanted = 0;
  int bagged = 0;
  std::string why;  ///< in plain words
};

struct ScoreSheet {
  std::string adviser;
  std::vector<JudgedStay> stays;
  std::vector<JudgedCall> calls;
  std::vector<StatedChance> chances;
  std::vector<MissedKind> missed;
  std::vector<Milliseconds> pauses;  ///< in which the adviser could think, and the day could not

  /// Mean of (stated − outcome)² over the chances whose outcome is known (Brier 1950, Monthly
  /// Weather Review 78:1-3): 0 is perfect, always stating one half gives 0.25. None: none is known.
  std::optional<double> brier() const;
  /// Worth given away a call, over the calls that say when to leave; none: there are none.
  std::optional<double> mean_regret() const;
};

/// Judges the calls that `adviser` made. `debrief` is the look back on `events`, which hold the log
/// and the adviser's calls. Hindsight knows all of the log's evidence of the ground and the pace,
/// not which rock comes next (advise/hindsight.hpp).
ScoreSheet score(const Debrief& debrief, const std::vector<protocol::EventPtr>& events,
                 const std::string& adviser);

}  // namespace stonecall::debrief
