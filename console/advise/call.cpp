#include "console/advise/call.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <set>

#include "protocol/time.hpp"

namespace stonecall::advise {
namespace {

/// Gains closer than this (in worths of a first sample of weight 1) are the same to anybody.
constexpr double worth_telling = 0.02;
/// A stay shorter than this is not worth a call of its own.
constexpr std::size_t short_stay_minutes = 3;
/// "Get one more first" is for a stay this short that is mostly about one kind.
constexpr int get_first_minutes = 15;
/// Below this chance of holding, the plan's expectation is spoken of.
constexpr double plan_in_doubt = 0.7;

AdvisedCall of(CallKind kind, Rule rule) {
  AdvisedCall call;
  call.kind = kind;
  call.rule = rule;
  return call;
}

/// A moment, in minutes since the start of the exercise.
Telling at(double minutes) {
  return Telling::moment(protocol::from_minutes(std::clamp(minutes, -1e6, 1e6)));
}

std::string whole(double value) {
  return std::to_string(std::llround(std::clamp(value, -1e9, 1e9)));
}

std::string two_digits(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.2f", value);
  return text;
}

/// Certainty is never claimed: draws only stand for what they were drawn from.
std::string percent(double chance) {
  const double shown = std::clamp(std::round(chance * 100), 0.0, 100.0);
  return shown >= 100 ? "over 99 %" : shown <= 0 ? "under 1 %" : whole(shown) + " %";
}

/// "Over 99 % sure …" at the beginning of a sentence.
std::string capitalised(std::string sentence) {
  if (sentence.starts_with("over")) sentence[0] = 'O';
  if (sentence.starts_with("under")) sentence[0] = 'U';
  return sentence;
}

/// "1 other sample here", "3 other samples here": those named in what is missing but `sample`;
/// empty: none.
std::string others_lacking(const std::vector<MissingHere>& missing, const std::string& sample) {
  std::set<std::string> others;
  for (const MissingHere& each : missing)
    if (each.sample != sample) others.insert(each.sample);
  if (others.empty()) return {};
  return std::to_string(others.size()) + " other sample" + (others.size() == 1 ? "" : "s") +
         " here";
}

std::string name_of(const std::vector<std::string>& names, std::size_t index,
                    const char* otherwise) {
  return index < names.size() && !names[index].empty() ? names[index] : otherwise;
}

std::string next_stop(const Situation& situation, const std::vector<Stop>& stops) {
  return stops.empty() ? "base"
                       : name_of(situation.stations_ahead, stops[0].station, "the next station");
}

std::optional<std::size_t> next_index(const std::vector<Stop>& stops) {
  return stops.empty() ? std::nullopt : std::optional(stops[0].station);
}

std::optional<AdvisedCall> return_limit(const Situation& situation) {
  const bool late = situation.departure && situation.departure->late;
  if (!situation.turn_back) {
    if (!late) return {};
    AdvisedCall call = of(CallKind::turn_back, Rule::return_limit);
    call.sentence = "Turn back to base at once.";
    call.reason = "A call sent now acts after the latest departure.";
    call.sureness = "The return limit is not weighed against anything.";
    call.why.emplace_back(turn_back_caution);
    return call;
  }
  const TurnBackTimes& back = *situation.turn_back;
  if (!late && situation.now < back.latest_useful_call - situation.warn_minutes) return {};

  AdvisedCall call = of(CallKind::turn_back, Rule::return_limit);
  const double walk = back.walk_minutes + back.margin_minutes;
  const bool past = situation.now >= back.latest_departure;
  call.sentence = past ? Telling("Turn back to base at once.")
                       : "Turn back to base: leave " +
                             (situation.here.empty() ? std::string("here") : situation.here) +
                             " by " + at(back.latest_departure) + ".";
  call.reason =
      "The way back takes " + whole(std::ceil(walk)) +
      " min with its margin; the latest departure " + (past ? "was " : "is ") +
      at(back.latest_departure) +
      (situation.now > back.latest_useful_call
           ? Telling(", and a call sent now is heard too late to be acted on in time.")
           : ", and a call sent after " + at(back.latest_useful_call) + " comes too late.");
  call.sureness = "The return limit is not weighed against anything.";
  call.why.emplace_back(turn_back_caution);
  if (!situation.missing.empty()) {
    const MissingHere& first = situation.missing.front();
    const std::string others = others_lacking(situation.missing, first.sample);
    call.why.emplace_back("Left undone here: " + first.what + " of sample " + first.sample +
                          (others.empty() ? "." : ", and something of " + others + "."));
  }
  call.would_change.emplace_back(
      "A later time to be back at base, a shorter way or a faster walk, if the field leader says "
      "so.");
  call.until = back.latest_departure;
  call.useful_until = back.latest_useful_call;
  return call;
}

/// What is missing, most urgent first, as far as it can be done before the latest departure.
std::optional<AdvisedCall> documentation(const Situation& situation) {
  if (situation.missing.empty()) return {};
  // They begin when they have heard of it, and must be done by the latest departure.
  double time = 1e9;
  if (situation.turn_back) time = situation.turn_back->latest_useful_call - situation.now;
  if (const auto& departure = situation.departure)
    time = std::min(time, static_cast<double>(departure->latest - departure->earliest));
  std::string list;
  std::size_t fitting = 0;
  double minutes = 0;
  std::string sample;
  for (const MissingHere& missing : situation.missing) {
    if (minutes + missing.minutes > time) continue;
    minutes += missing.minutes;
    ++fitting;
    // The sentence names what belongs to the first sample; the rest is counted.
    if (fitting == 1) {
      sample = missing.sample;
      list = missing.what;
    } else if (missing.sample == sample) {
      list += ", " + missing.what;
    }
  }
  if (fitting == 0) return {};
  const std::string others = others_lacking(situation.missing, sample);
  const std::size_t too_long = situation.missing.size() - fitting;

  AdvisedCall call = of(CallKind::get_first, Rule::documentation);
  call.sentence = "Before moving, for sample " + sample + ": " + list + ".";
  call.reason =
      "It cannot be made up once the party has left; about " + whole(std::ceil(minutes)) +
      (too_long == 0 ? " min for all that is missing here." : " min for what still fits.");
  call.sureness = "Documentation of samples in hand comes before any weighing of stay or move.";
  if (!others.empty()) call.why.emplace_back("Something is missing of " + others + " too.");
  if (too_long > 0)
    call.why.emplace_back("Not all that is missing here fits before the latest departure.");
  call.would_change.emplace_back("Word that it is done, or that the sample is given up.");
  if (situation.turn_back) call.useful_until = situation.turn_back->latest_useful_call;
  return call;
}

/// "mostly scoria, then obsidian", of the kinds that pull towards staying (+1) or leaving (−1).
std::string kinds_pulling(const Situation& situation, int direction) {
  std::vector<std::string> names;
  for (const KindDifference& difference : situation.departure->kinds)
    if (difference.staying_adds * direction > worth_telling / 2 && names.size() < 2)
      names.push_back(name_of(situation.kinds, difference.kind, "another kind"));
  if (names.empty()) return {};
  return names.size() == 1 ? "mostly " + names[0] : "mostly " + names[0] + ", then " + names[1];
}

Telling range_text(const Situation& situation) {
  const Departure& departure = *situation.departure;
  return departure.best_low == departure.best_high
             ? "The best time to leave is " + at(situation.now + departure.best_low) +
                   " for nearly all the evidence allows."
             : "The best time to leave lies between " + at(situation.now + departure.best_low) +
                   " and " + at(situation.now + departure.best_high) +
                   " for 80 % of what the evidence allows.";
}

void add_what_it_rests_on(const Situation& situation, AdvisedCall& call) {
  const Departure& departure = *situation.departure;
  for (const Alternative& alternative : departure.alternatives)
    call.why.emplace_back("Leaving as soon as it can be said beats staying " +
                          std::to_string(alternative.more_minutes) + " min more with a chance of " +
                          percent(alternative.p_leaving_better) + " (worth " +
                          two_digits(alternative.gain_now) + " against " +
                          two_digits(alternative.gain_staying) + ").");
  call.why.push_back(range_text(situation));
  if (!situation.counted_here)
    call.why.emplace_back(
        "No unselective count was made here: the shares rest on what was said or planned.");
  if (situation.plan_holds < plan_in_doubt)
    call.why.emplace_back(
        "What was counted so far is unlike what the plan expected: it is given a chance of " +
        percent(situation.plan_holds) + " of describing the ground, and weighs no more than that.");
  if (situation.asking && situation.asking->p_changes > 0.05)
    call.would_change.emplace_back(
        "A count here would move the time to leave by five minutes or more with a chance of " +
        percent(situation.asking->p_changes) + ".");
  const std::string stay = kinds_pulling(situation, 1);
  const std::string leave = kinds_pulling(situation, -1);
  if (!stay.empty())
    call.would_change.emplace_back(
        "What staying adds is " + stay +
        ": having it in the bag, or word that there is none, takes the reason to stay.");
  if (!leave.empty())
    call.would_change.emplace_back("What leaving adds is " + leave +
                                   ": word that it is not found ahead takes the reason to leave.");
}

/// Leaving as soon as it can be said, against the best stay worth a call of its own.
struct Weighing {
  bool staying = false;  ///< is the better
  double leaving_gain = 0;
  double staying_gain = 0;
  int stay_minutes = 0;  ///< from now
  double p_best = 0;     ///< chance that the better is the better

  double lead() const { return std::abs(staying_gain - leaving_gain); }
};

/// Part of the draws in which leaving at once gains more than leaving at `column`; a tie counts
/// half.
double part_leaving_better(const GainTable& table, std::size_t column) {
  double better = 0;
  for (std::size_t d = 0; d < table.draws; ++d) {
    const auto gains = table.of_draw(d);
    better += gains[0] > gains[column] ? 1 : gains[0] == gains[column] ? 0.5 : 0;
  }
  return table.draws > 0 ? better / static_cast<double>(table.draws) : 0.5;
}

Weighing weigh(const Departure& departure) {
  const auto& gains = departure.mean_gain;
  const auto best = static_cast<std::size_t>(departure.best - departure.earliest);
  std::size_t other = std::min<std::size_t>(5, gains.size() - 1);
  for (std::size_t m = other; m < gains.size(); ++m)
    if (gains[m] > gains[other]) other = m;
  // A best stay too short to be said is no stay, unless longer ones beat leaving too.
  if (best >= short_stay_minutes || (best > 0 && gains[other] > gains[0]))
    return {true, gains[0], gains[best], departure.best, departure.p_best};
  return {false, gains[0], gains[other], departure.earliest + static_cast<int>(other),
          best == 0 ? departure.p_best : part_leaving_better(departure.table, other)};
}

/// Why the weighing makes no call of itself.
std::string too_close(const Weighing& weighing, const Situation& situation) {
  // Rounded down: a chance that falls short of what is asked for must not read as if it did not.
  const std::string sure =
      percent(std::floor(weighing.p_best * 100 + 1e-9) / 100) + " sure which is the better";
  return weighing.p_best < situation.confident
             ? sure + ", " + percent(situation.confident) + " asked for."
             : sure + ", but by less than anybody would notice.";
}

/// A station left without a sample of its ordinary rock is a gap like a missing picture.
void take_the_ordinary_too(const Situation& situation, const std::string& then, AdvisedCall& call) {
  const Departure& departure = *situation.departure;
  if (situation.no_typical_sample.empty() ||
      situation.handling_minutes > departure.latest - departure.earliest)
    return;
  call.why.emplace(call.why.begin(), "No sample of the ordinary rock here is in the bag yet: " +
                                         situation.no_typical_sample + "; it takes about " +
                                         whole(std::ceil(situation.handling_minutes)) + " min.");
  if (call.kind != CallKind::move_on) return;
  call.kind = CallKind::get_first;
  call.sentence =
      "Bag one " + situation.no_typical_sample + ", the ordinary rock here, then " + then + ".";
  call.until = *call.until + situation.handling_minutes;
}

std::optional<AdvisedCall> value(const Situation& situation) {
  if (!situation.departure || situation.departure->mean_gain.empty()) return {};
  const Departure& departure = *situation.departure;
  const Weighing weighing = weigh(departure);
  if (weighing.p_best < situation.confident) return {};
  if (weighing.lead() < worth_telling) return {};

  AdvisedCall call = of(CallKind::move_on, Rule::value);
  call.p_best = weighing.p_best;
  call.until = situation.now + (weighing.staying ? departure.best : departure.earliest);
  const bool at_best = weighing.staying || departure.best == departure.earliest;
  const auto& stops = at_best ? departure.stops : departure.stops_if_leaving;
  call.station = next_index(stops);
  const std::string onward = next_stop(situation, stops);
  const std::string then = stops.empty() ? "start back to base" : "move on to " + onward;

  if (!weighing.staying) {
    call.sentence = stops.empty() ? "Start back to base now." : "Move on now to " + onward + ".";
    call.reason = "Worth " + two_digits(weighing.leaving_gain) +
                  " from now to the end by leaving, " + two_digits(weighing.staying_gain) +
                  " by staying until " + at(situation.now + weighing.stay_minutes) + ".";
    const std::string kinds = kinds_pulling(situation, -1);
    call.sureness = capitalised(percent(weighing.p_best)) + " sure that leaving is the better" +
                    (kinds.empty() ? "." : "; the difference is " + kinds + ".");
    call.useful_until = situation.now + std::max(0, departure.best_high - departure.earliest);
  } else {
    const KindDifference& first = departure.kinds.empty() ? KindDifference{} : departure.kinds[0];
    double pull = 0;
    for (const KindDifference& difference : departure.kinds)
      pull += std::max(0.0, difference.staying_adds);
    const bool one_kind = departure.best - departure.earliest <= get_first_minutes &&
                          first.staying_adds > 0.5 * pull && pull > 0;
    call.kind = one_kind ? CallKind::get_first : CallKind::stay_until;
    const Telling until = at(situation.now + departure.best);
    if (one_kind) {
      call.kind_wanted = first.kind;
      call.sentence = "Look for " + name_of(situation.kinds, first.kind, "the kind still wanted") +
                      " here until " + until + ", then " + then + ".";
    } else {
      call.sentence = "Stay here until " + until + ", then " + then + ".";
    }
    call.reason = "Worth " + two_digits(weighing.staying_gain) +
                  " from now to the end by staying until " + until + ", " +
                  two_digits(weighing.leaving_gain) + " by leaving now.";
    const std::string kinds = kinds_pulling(situation, 1);
    call.sureness = capitalised(percent(weighing.p_best)) + " sure that staying is the better" +
                    (kinds.empty() ? "." : "; the difference is " + kinds + ".");
    // To leave on time the party must hear of it before; until then it stays anyway.
    call.useful_until = situation.now + departure.best - departure.earliest;
  }
  if (situation.turn_back)
    call.useful_until = std::min(*call.useful_until, situation.turn_back->latest_useful_call);
  add_what_it_rests_on(situation, call);
  take_the_ordinary_too(situation, then, call);
  return call;
}

std::optional<AdvisedCall> asking(const Situation& situation) {
  const bool worth_it = situation.asking && situation.asking->worth_it();
  // Without a count there is no basis at all to say what has not been seen.
  if (!worth_it && situation.counted_here) return {};
  if (!worth_it && situation.departure &&
      situation.departure->latest - situation.departure->earliest < 10)
    return {};
  AdvisedCall call = of(CallKind::ask, Rule::asking);
  call.sentence = "Count ten for us: of ten rocks underfoot, not chosen, how many of each kind?";
  if (worth_it) {
    call.reason = "A count of ten would move the time to leave with a chance of " +
                  percent(situation.asking->p_changes) + "; knowing is worth " +
                  two_digits(situation.asking->gain) + ", the time it takes " +
                  two_digits(situation.asking->cost) + ".";
  } else {
    call.reason =
        "No unselective count was made here, so nothing can be said of what has not been seen.";
  }
  if (situation.departure) {
    const Weighing weighing = weigh(*situation.departure);
    call.p_best = weighing.p_best;
    call.sureness = "Stay or move is too close to call: " + too_close(weighing, situation);
    add_what_it_rests_on(situation, call);
  } else {
    call.sureness = "There is no basis yet to weigh stay against move.";
  }
  if (situation.turn_back) call.useful_until = situation.turn_back->latest_useful_call;
  return call;
}

AdvisedCall no_call(const Situation& situation) {
  AdvisedCall call;
  if (!situation.departure || situation.departure->mean_gain.empty()) {
    call.sentence = "No call.";
    call.reason = situation.way_known
                      ? "There is no basis yet to weigh stay against move."
                      : "The plan does not know this place, so the ways from here cannot be "
                        "reckoned, nor stay weighed against move.";
    call.sureness = "Nothing to be sure of.";
    return call;
  }
  const Departure& departure = *situation.departure;
  const Weighing weighing = weigh(departure);
  call.p_best = weighing.p_best;
  const double highest = *std::max_element(departure.mean_gain.begin(), departure.mean_gain.end());
  if (highest < worth_telling) {
    call.sentence = "No call: nothing more that the plan wants is to be expected.";
    call.reason = "Worth at most " + two_digits(highest) + ", here and ahead together.";
  } else if (departure.mean_gain.size() < 2) {
    call.sentence = "No call: the party leaves anyway before a longer stay could be agreed.";
    call.reason = "The return limit allows no later departure.";
  } else {
    call.sentence = "No call: leaving now and staying until " +
                    at(situation.now + weighing.stay_minutes) + " come to much the same.";
    call.reason = "Worth " + two_digits(weighing.leaving_gain) + " against " +
                  two_digits(weighing.staying_gain) + " from now to the end.";
  }
  call.sureness = capitalised(too_close(weighing, situation));
  add_what_it_rests_on(situation, call);
  return call;
}

}  // namespace

AdvisedCall advise_call(const Situation& situation) {
  if (auto call = return_limit(situation)) return *call;
  if (auto call = documentation(situation)) return *call;
  if (auto call = value(situation)) return *call;
  if (auto call = asking(situation)) return *call;
  return no_call(situation);
}

}  // namespace stonecall::advise
