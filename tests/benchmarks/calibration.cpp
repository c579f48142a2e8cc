// Is the method calibrated, and is its advice worth following? Simulated grounds and parties;
// prints tables for RESULTS.md. Run by hand: calibration [grounds a row] [exercises]
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <numeric>
#include <string>
#include <utility>

#include "console/advise/allocation.hpp"
#include "console/advise/plan_trust.hpp"
#include "console/debrief/simulate.hpp"
#include "console/estimate/abundance.hpp"
#include "console/estimate/caller.hpp"
#include "console/estimate/diversity.hpp"
#include "console/estimate/pace.hpp"
#include "console/estimate/patchiness.hpp"

using namespace stonecall;
using debrief::Generator;
using estimate::Evidence;

namespace {

constexpr std::size_t classes = 6;  // five kinds and "other"
constexpr std::size_t stations = 5;

// ---- what a back room makes of what it heard: as the console does, without the picture ----------

struct Learned {
  double patchiness = 0;
  std::vector<estimate::CallerRecord> callers;
};

Learned learn(std::span<const debrief::Heard> heard, std::size_t callers) {
  Learned learned;
  std::vector<estimate::Looks> looks;
  for (const auto& station : heard) looks.push_back(station.looks);
  learned.patchiness = estimate::patchiness(looks).value_or(0);
  std::vector<std::vector<estimate::SpokenAndCounted>> pairs(callers);
  for (const auto& station : heard)
    for (const auto& share : station.shares) {
      estimate::SpokenAndCounted pair{*share.best, share.high - share.low, 0, 0, 1};
      for (const auto& counts : station.looks) {
        pair.met += counts[share.kind];
        pair.counted += std::accumulate(counts.begin(), counts.end(), std::int64_t{0});
      }
      if (pair.counted == 0) continue;
      pair.design_effect = estimate::design_effect(station.looks, learned.patchiness);
      pairs[share.caller].push_back(pair);
    }
  for (const auto& of_caller : pairs) learned.callers.push_back(estimate::learn_caller(of_caller));
  return learned;
}

estimate::SharePosterior posterior(const debrief::Heard& heard, const Learned& learned) {
  Evidence evidence{classes, heard.looks, heard.shares, 0};
  for (auto& share : evidence.shares) {
    share.bias = learned.callers[share.caller].bias;
    share.spread = learned.callers[share.caller].spread_with_bias_error();
  }
  return estimate::share_posterior(evidence,
                                   estimate::design_effect(heard.looks, learned.patchiness));
}

// ---- coverage of the shown intervals --------------------------------------------------------

struct GroundCase {
  const char* name;
  double patchiness;
  int looks;   // most a station
  int shares;  // most a station
  double bias;
  double truth_each = 0.5;  // Dirichlet parameter the true shares come from
};

void coverage(int grounds) {
  std::printf(
      "\n| ground | grounds | 50 %% interval covers | 90 %% interval covers | mean width of 90 %% "
      "|\n");
  std::printf("| --- | --- | --- | --- | --- |\n");
  for (const GroundCase& c : {
           GroundCase{"even ground, one to four looks of ten", 0, 4, 0, 0},
           GroundCase{"patchy ground (correlation 0.15)", 0.15, 4, 0, 0},
           GroundCase{"even ground, looks and spoken shares", 0, 3, 3, 0},
           GroundCase{"even ground, callers ten points high and ten low", 0, 3, 3, 0.10},
           GroundCase{"patchy ground and biased callers", 0.15, 3, 3, 0.10},
           GroundCase{"patchy ground, biased callers, shares more even than the prior", 0.15, 3, 3,
                      0.10, 1.0},
       }) {
    Generator generator(20270518);
    std::array<double, 2> covered{};
    double width = 0, intervals = 0;
    int done = 0;
    while (done < grounds) {
      debrief::TrueGround ground;
      ground.patchiness = c.patchiness;
      const std::vector<double> alpha(classes, c.truth_each);
      const std::array callers{debrief::TrueCaller{c.bias, 0.1}, debrief::TrueCaller{-c.bias, 0.1}};
      std::vector<debrief::Heard> heard(stations);
      for (std::size_t s = 0; s < stations; ++s) {
        ground.stations.push_back({debrief::dirichlet(alpha, generator)});
        const int looks = std::uniform_int_distribution<int>(1, c.looks)(generator);
        for (int i = 0; i < looks; ++i)
          heard[s].looks.push_back(debrief::look(ground, s, 10, generator));
        for (int i = 0; i < c.shares; ++i) {
          const std::size_t kind = std::discrete_distribution<std::size_t>(
              ground.stations[s].shares.begin(), ground.stations[s].shares.end())(generator);
          const std::size_t caller = static_cast<std::size_t>(i % 2);
          heard[s].shares.push_back(
              debrief::speak(ground, s, kind, caller, callers[caller], generator));
        }
      }
      const Learned learned = learn(heard, 2);
      for (std::size_t s = 0; s < stations && done < grounds; ++s, ++done) {
        const auto estimates = posterior(heard[s], learned);
        const auto half = estimate::share_estimates(estimates, 0.5);
        const auto most = estimate::share_estimates(estimates, 0.9);
        for (std::size_t k = 0; k < classes; ++k) {
          const double truth = ground.stations[s].shares[k];
          covered[0] += half[k].interval.lower <= truth && truth <= half[k].interval.upper;
          covered[1] += most[k].interval.lower <= truth && truth <= most[k].interval.upper;
          width += most[k].interval.upper - most[k].interval.lower;
          ++intervals;
        }
      }
    }
    std::printf("| %s | %d | %.1f %% | %.1f %% | %.2f |\n", c.name, done,
                100 * covered[0] / intervals, 100 * covered[1] / intervals, width / intervals);
    std::fflush(stdout);
  }
}

// ---- how varied the ground is ---------------------------------------------------------------

std::array<double, 3> hill_numbers(const std::vector<double>& shares) {
  double kinds = 0, entropy = 0, squares = 0;
  for (const double p : shares) {
    if (!(p > 0)) continue;
    ++kinds;
    entropy -= p * std::log(p);
    squares += p * p;
  }
  return {kinds, std::exp(entropy), 1 / squares};
}

struct VarietyCase {
  const char* name;
  std::size_t kinds;
  double patchiness;
  int fewest, most;  // looks a station
  double truth_each;
};

void variety(int grounds) {
  std::printf(
      "\n| ground | grounds | no basis | q = 0: lower end holds | q = 0 covers | q = 1 covers | q "
      "= 2 "
      "covers | mean width q = 1 | q = 2 | q = 1 covers, patchiness left out |\n");
  std::printf("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |\n");
  for (const VarietyCase& c : {
           VarietyCase{"6 kinds, even, one to four looks of ten", 6, 0, 1, 4, 0.5},
           VarietyCase{"6 kinds, patchy (correlation 0.15), one to four looks", 6, 0.15, 1, 4, 0.5},
           VarietyCase{"6 kinds of more like shares, even, one to four looks", 6, 0, 1, 4, 1},
           VarietyCase{"12 kinds, even, four looks", 12, 0, 4, 4, 0.5},
           VarietyCase{"12 kinds of more like shares, patchy, four looks", 12, 0.15, 4, 4, 1},
           VarietyCase{"12 kinds of more like shares, even, ten looks", 12, 0, 10, 10, 1},
           VarietyCase{"12 kinds of more like shares, patchy, ten looks", 12, 0.15, 10, 10, 1},
           VarietyCase{"30 kinds, even, ten looks", 30, 0, 10, 10, 0.5},
       }) {
    Generator generator(20270611);
    std::array<double, 3> covered{}, width{};
    double at_least = 0, as_if_even = 0, with_basis = 0;
    int done = 0;
    while (done < grounds) {
      debrief::TrueGround ground;
      ground.patchiness = c.patchiness;
      const std::vector<double> alpha(c.kinds, c.truth_each);
      std::vector<estimate::Looks> heard(stations);
      for (std::size_t s = 0; s < stations; ++s) {
        ground.stations.push_back({debrief::dirichlet(alpha, generator)});
        const int looks = std::uniform_int_distribution<int>(c.fewest, c.most)(generator);
        for (int i = 0; i < looks; ++i) heard[s].push_back(debrief::look(ground, s, 10, generator));
      }
      const double patchiness = estimate::patchiness(heard).value_or(0);
      for (std::size_t s = 0; s < stations && done < grounds; ++s, ++done) {
        const auto shown = estimate::ground_diversity(heard[s], patchiness);
        if (!shown) continue;
        ++with_basis;
        const auto truth = hill_numbers(ground.stations[s].shares);
        const std::array numbers{shown->kinds, shown->common, shown->dominant};
        for (std::size_t q = 0; q < 3; ++q) {
          const auto& [low, high] = numbers[q].interval;
          covered[q] += low <= truth[q] && truth[q] <= high;
          width[q] += high - low;
        }
        at_least += shown->kinds.interval.lower <= truth[0];
        const auto even = estimate::ground_diversity(heard[s], 0)->common.interval;
        as_if_even += even.lower <= truth[1] && truth[1] <= even.upper;
      }
    }
    const auto percent = [&](double part) { return 100 * part / with_basis; };
    std::printf(
        "| %s | %d | %.0f | %.1f %% | %.1f %% | %.1f %% | %.1f %% | %.1f | %.1f | %.1f %% |\n",
        c.name, done, done - with_basis, percent(at_least), percent(covered[0]),
        percent(covered[1]), percent(covered[2]), width[1] / with_basis, width[2] / with_basis,
        percent(as_if_even));
    std::fflush(stdout);
  }
}

// ---- exercises ------------------------------------------------------------------------------

struct Exercise {
  debrief::TrueGround ground;
  std::vector<std::vector<double>> expected;  // the plan's, from ten rocks each
  std::vector<advise::Wanted> kinds;
  debrief::Habits habits;
  advise::Journey way;  // from the first station
  double minutes = 120;
};

constexpr double leg_minutes = 7;
constexpr double sureness = 10;

enum class Expectation { honest, misleading };

/// Misleading: the plan expects what ten rocks of another ground would show.
Exercise make_exercise(std::uint64_t seed, Expectation expectation = Expectation::honest) {
  Generator generator(seed);
  Exercise exercise;
  exercise.ground.patchiness = 0.1;
  const std::vector<double> alpha(classes, 0.5);
  for (std::size_t s = 0; s < stations; ++s) {
    exercise.ground.stations.push_back({debrief::dirichlet(alpha, generator)});
    debrief::TrueGround even{{exercise.ground.stations[s]}, 0};
    if (expectation == Expectation::misleading)
      even.stations[0].shares = debrief::dirichlet(alpha, generator);
    std::vector<double> shares;
    for (const auto count : debrief::look(even, 0, static_cast<int>(sureness), generator))
      shares.push_back(static_cast<double>(count) / sureness);
    exercise.expected.push_back(shares);
  }
  for (std::size_t k = 0; k < classes; ++k)
    exercise.kinds.push_back(k + 1 < classes ? advise::Wanted{1, 3, 0.5, 0}
                                             : advise::Wanted{0.5, 1, 0.5, 0});
  // Pace as the plan's prior has it: two rocks a minute worth twenty minutes, four minutes a sample
  // worth three.
  exercise.habits.looks_per_minute = std::gamma_distribution<double>(40, 1 / 20.0)(generator);
  exercise.habits.handling_minutes =
      std::clamp(1 / std::gamma_distribution<double>(4, 1 / 12.0)(generator), 1.5, 12.0);
  exercise.habits.callers = {{0.08, 0.1}, {-0.04, 0.1}};
  return exercise;
}

double base_minutes(std::size_t station) {
  return 6 + leg_minutes * static_cast<double>(station);
}

advise::Journey journey_from(std::size_t station, double minutes_left) {
  advise::Journey journey;
  journey.minutes_left = minutes_left;
  journey.base_from_here = base_minutes(station);
  for (std::size_t s = station + 1; s < stations; ++s) {
    advise::StationAhead ahead;
    ahead.from_here = leg_minutes * static_cast<double>(s - station);
    for (std::size_t e = station + 1; e < s; ++e)
      ahead.from_earlier.push_back(leg_minutes * static_cast<double>(s - e));
    ahead.to_base = base_minutes(s);
    journey.ahead.push_back(std::move(ahead));
  }
  return journey;
}

advise::Draw true_draw(const Exercise& exercise, std::size_t station) {
  advise::Draw draw;
  draw.here = exercise.ground.stations[station].shares;
  for (std::size_t s = station + 1; s < stations; ++s)
    draw.ahead.push_back(exercise.ground.stations[s].shares);
  draw.looks_per_minute = exercise.habits.looks_per_minute;
  draw.handling_minutes = exercise.habits.handling_minutes;
  return draw;
}

/// Is the plan's expectation taken at its word, or only as far as it has held so far?
enum class Trust { full, learned };

std::vector<advise::Draw> believed_draws(const Exercise& exercise, const debrief::Party& party,
                                         std::size_t station, std::size_t count,
                                         Generator& generator, Trust trust) {
  std::vector<debrief::Heard> heard;
  for (std::size_t s = 0; s < stations; ++s) heard.push_back(party.heard(s));
  const Learned learned = learn(heard, exercise.habits.callers.size());
  std::vector<advise::ExpectedAndCounted> checked;
  for (std::size_t s = 0; s <= station; ++s) {
    const double divisor = estimate::design_effect(heard[s].looks, learned.patchiness);
    std::vector<double> counted(classes, 0.0);
    for (const auto& counts : heard[s].looks)
      for (std::size_t k = 0; k < classes; ++k)
        counted[k] += static_cast<double>(counts[k]) / divisor;
    checked.push_back({exercise.expected[s], sureness, counted});
  }
  const double holds = trust == Trust::learned ? advise::chance_plan_holds(checked) : 1;
  const auto with_plan = static_cast<std::size_t>(std::lround(holds * static_cast<double>(count)));
  std::vector<advise::Draw> draws(count);
  // Of the draws, as many follow the plan's expectation as it is likely to hold; shuffled, since
  // they are thinned.
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::shuffle(order.begin(), order.end(), generator);
  for (std::size_t s = station; s < stations; ++s) {
    const auto alone = posterior(heard[s], learned);
    auto planned = alone;
    for (std::size_t k = 0; k < classes; ++k)
      planned.alpha[k] += sureness * exercise.expected[s][k];
    const auto put = [&](const estimate::SharePosterior& belief, std::size_t from, std::size_t to) {
      const auto shares = estimate::draw_shares(belief, to - from, generator);
      for (std::size_t i = from; i < to; ++i) {
        std::vector<double> row(shares[i - from].begin(), shares[i - from].end());
        advise::Draw& draw = draws[order[i]];
        if (s == station)
          draw.here = std::move(row);
        else
          draw.ahead.push_back(std::move(row));
      }
    };
    put(planned, 0, with_plan);
    put(alone, with_plan, count);
  }
  double rocks = 0, looking = 0, samples = 0, handling = 0;
  for (const auto& h : heard) {
    rocks += h.rocks_looked_at;
    looking += h.looking_minutes;
    samples += h.samples;
    handling += h.handling_minutes;
  }
  const auto pace = *estimate::rate_posterior(rocks, looking, 40, 20);
  const auto sample = *estimate::handling_posterior(samples, handling, 4, 3);
  for (auto& draw : draws) {
    draw.looks_per_minute =
        std::gamma_distribution<double>(pace.shape, 1 / pace.rate_minutes)(generator);
    draw.handling_minutes =
        std::clamp(1 / std::gamma_distribution<double>(
                           sample.per_minute.shape, 1 / sample.per_minute.rate_minutes)(generator),
                   0.5, 60.0);
  }
  return draws;
}

struct Forecast {
  double p = 0;
  bool came_true = false;
};

/// Where to go next from `station`, now; the same station: stay for five minutes more.
struct Move {
  bool leave = false;
  std::size_t to = stations;  // stations: base
};

struct State {
  const Exercise& exercise;
  const debrief::Party& party;
  std::size_t station;
  double here_minutes;
  double minutes_left;
  Generator& generator;
};

std::vector<advise::Wanted> still_wanted(const State& state) {
  auto kinds = state.exercise.kinds;
  for (std::size_t k = 0; k < classes; ++k) kinds[k].have = state.party.bagged()[k];
  return kinds;
}

Move as_planned(const State& state, const advise::Departure& departure) {
  if (departure.late || departure.best > departure.earliest + 2) return {departure.late, stations};
  return {true,
          departure.stops.empty() ? stations : state.station + 1 + departure.stops[0].station};
}

/// The plan's dwell: the time left for working, shared evenly over all stations.
double allotted_minutes(const Exercise& exercise) {
  return (exercise.minutes - leg_minutes * (stations - 1) - base_minutes(stations - 1)) /
         static_cast<double>(stations);
}

Move next_in_order(const State& state, bool leave) {
  if (!leave) return {};
  const std::size_t next = state.station + 1;
  const bool reachable =
      next < stations && state.minutes_left >= leg_minutes + base_minutes(next) + 3;
  return {true, reachable ? next : stations};
}

using Policy = std::function<Move(const State&)>;

/// Worth of the bag at the end.
double walk(const Exercise& exercise, const Policy& policy, std::uint64_t seed) {
  std::vector<int> wanted;
  for (const auto& kind : exercise.kinds) wanted.push_back(kind.number);
  debrief::Party party(exercise.ground, exercise.habits, wanted, seed);
  Generator generator(seed + 1);
  std::size_t station = 0;
  double left = exercise.minutes, here = 0;
  while (true) {
    const double must_leave_in = left - base_minutes(station);
    if (must_leave_in < 1) break;
    const Move move = policy({exercise, party, station, here, left, generator});
    if (move.leave) {
      if (move.to >= stations) break;
      left -= leg_minutes * static_cast<double>(move.to - station);
      station = move.to;
      here = 0;
      party.arrive();
      continue;
    }
    const double used = party.work(station, std::min(5.0, must_leave_in), must_leave_in);
    here += used;
    left -= used;
  }
  return advise::worth_of_bag(exercise.kinds, party.bagged());
}

void print_forecasts(const char* name, const std::vector<Forecast>& forecasts) {
  std::printf("\n%s: %zu statements, Brier score ", name, forecasts.size());
  double brier = 0, base = 0;
  for (const auto& f : forecasts) {
    brier += (f.p - f.came_true) * (f.p - f.came_true);
    base += f.came_true;
  }
  const double n = static_cast<double>(forecasts.size());
  base /= n;
  std::printf("%.3f (always stating the base rate: %.3f)\n\n", brier / n, base * (1 - base));
  std::printf(
      "| stated chance | statements | mean stated | came true |\n| --- | --- | --- | --- |\n");
  for (int bin = 0; bin < 10; ++bin) {
    double stated = 0, came = 0, count = 0;
    for (const auto& f : forecasts)
      if (std::min(9, static_cast<int>(f.p * 10)) == bin) {
        stated += f.p;
        came += f.came_true;
        ++count;
      }
    if (count > 0)
      std::printf("| %d–%d %% | %.0f | %.0f %% | %.0f %% |\n", bin * 10, bin * 10 + 10, count,
                  100 * stated / count, 100 * came / count);
  }
}

/// Kinds and draws as if a rock of a kind at one station had nothing to do with the same kind at
/// another: what each station adds is then counted apart, and a kind met twice is paid for twice.
std::pair<std::vector<advise::Wanted>, std::vector<advise::Draw>> apart(
    const std::vector<advise::Wanted>& kinds, const std::vector<advise::Draw>& draws) {
  const std::size_t places = 1 + draws[0].ahead.size();
  std::vector<advise::Wanted> kinds_apart;
  for (std::size_t p = 0; p < places; ++p)
    kinds_apart.insert(kinds_apart.end(), kinds.begin(), kinds.end());
  std::vector<advise::Draw> draws_apart;
  for (const auto& draw : draws) {
    const auto spread = [&](const std::vector<double>& shares, std::size_t place) {
      std::vector<double> all(kinds_apart.size(), 0.0);
      std::copy(shares.begin(), shares.end(),
                all.begin() + static_cast<std::ptrdiff_t>(place * kinds.size()));
      return all;
    };
    advise::Draw one{spread(draw.here, 0), {}, draw.looks_per_minute, draw.handling_minutes};
    for (std::size_t s = 0; s + 1 < places; ++s) one.ahead.push_back(spread(draw.ahead[s], s + 1));
    draws_apart.push_back(std::move(one));
  }
  return {kinds_apart, draws_apart};
}

void exercises(int count, Expectation expectation) {
  constexpr std::size_t draws = 300;
  std::vector<Forecast> move_now, p_best;
  const auto decide = [&](const State& state, bool collect, Trust trust) {
    auto believed =
        believed_draws(state.exercise, state.party, state.station, draws, state.generator, trust);
    // The truth rides along as one more draw: its row says what would really have been gained.
    if (collect) believed.push_back(true_draw(state.exercise, state.station));
    const auto departure = *advise::best_departure(still_wanted(state), believed,
                                                   journey_from(state.station, state.minutes_left));
    if (collect && !departure.late && departure.latest - departure.earliest >= 10) {
      const auto truth = departure.table.of_draw(draws);
      if (departure.mean_gain[0] > 0.02 && truth[0] != truth[10]) {
        for (const auto& alternative : departure.alternatives)
          if (alternative.more_minutes == 10)
            move_now.push_back({alternative.p_leaving_better, truth[0] > truth[10]});
        if (departure.best > departure.earliest)
          p_best.push_back(
              {departure.p_best,
               truth[static_cast<std::size_t>(departure.best - departure.earliest)] > truth[0]});
      }
    }
    return departure;
  };
  const Policy advised = [&](const State& state) {
    return as_planned(state, decide(state, true, Trust::learned));
  };
  const Policy trusting = [&](const State& state) {
    return as_planned(state, decide(state, false, Trust::full));
  };
  const Policy sure_only = [&](const State& state) {
    const auto departure = decide(state, false, Trust::learned);
    if (departure.late || departure.p_best >= 0.7) return as_planned(state, departure);
    return next_in_order(state, state.here_minutes >= allotted_minutes(state.exercise) - 2.5);
  };
  const Policy counted_apart = [&](const State& state) {
    const auto believed = believed_draws(state.exercise, state.party, state.station, draws,
                                         state.generator, Trust::learned);
    const auto [kinds, draws_apart] = apart(still_wanted(state), believed);
    return as_planned(state,
                      *advise::best_departure(kinds, draws_apart,
                                              journey_from(state.station, state.minutes_left)));
  };
  const Policy shares_known = [](const State& state) {
    const std::vector<advise::Draw> truth{true_draw(state.exercise, state.station)};
    return as_planned(state,
                      *advise::best_departure(still_wanted(state), truth,
                                              journey_from(state.station, state.minutes_left)));
  };
  const Policy fixed = [](const State& state) {
    return next_in_order(state, state.here_minutes >= allotted_minutes(state.exercise) - 2.5);
  };
  const Policy nothing_new = [](const State& state) {
    return next_in_order(state, state.party.minutes_since_last_sample() >= 10);
  };
  const std::array<std::pair<const char*, const Policy*>, 7> policies{
      {{"stay for the time the plan allots", &fixed},
       {"stay until nothing was bagged for ten minutes", &nothing_new},
       {"advice that counts each station's gains apart", &counted_apart},
       {"advice followed where it is sure (70 %), else the plan", &sure_only},
       {"advice that takes the plan's expectation at its word", &trusting},
       {"advice followed always", &advised},
       {"hindsight: shares and pace known beforehand", &shares_known}}};
  std::vector<std::vector<double>> worths(policies.size());
  for (int e = 0; e < count; ++e) {
    const Exercise exercise = make_exercise(1000 + static_cast<std::uint64_t>(e), expectation);
    for (std::size_t p = 0; p < policies.size(); ++p)
      worths[p].push_back(walk(exercise, *policies[p].second, 77 + static_cast<std::uint64_t>(e)));
  }
  const auto mean = [](const std::vector<double>& v) {
    return std::accumulate(v.begin(), v.end(), 0.0) / static_cast<double>(v.size());
  };
  std::printf("\n%d exercises; the plan's expectation %s\n", count,
              expectation == Expectation::honest ? "is what ten rocks of each station showed"
                                                 : "is of another ground");
  std::printf("\n| policy | worth of the bag | against the plan's time | its standard error |\n");
  std::printf("| --- | --- | --- | --- |\n");
  for (std::size_t p = 0; p < policies.size(); ++p) {
    double square = 0;
    const double gain = mean(worths[p]) - mean(worths[0]);
    for (std::size_t e = 0; e < worths[p].size(); ++e)
      square += std::pow(worths[p][e] - worths[0][e] - gain, 2);
    const double n = static_cast<double>(count);
    std::printf("| %s | %.2f | %+.2f | %.2f |\n", policies[p].first, mean(worths[p]), gain,
                std::sqrt(square / (n - 1) / n));
  }
  if (expectation == Expectation::misleading) return;
  print_forecasts("Leaving now beats staying ten minutes more", move_now);
  print_forecasts("The advised stay beats leaving now", p_best);
}

// ---- why chosen samples are never counted ---------------------------------------------------

void chosen_samples(int grounds) {
  Generator generator(5);
  double error_common = 0, error_rare = 0, honest_common = 0, honest_rare = 0;
  for (int g = 0; g < grounds; ++g) {
    const Exercise exercise = make_exercise(50000 + static_cast<std::uint64_t>(g));
    debrief::Party party(exercise.ground, exercise.habits, {3, 3, 3, 3, 3, 1}, generator());
    party.work(0, 60, 1e9);
    const auto& shares = exercise.ground.stations[0].shares;
    const auto common =
        static_cast<std::size_t>(std::max_element(shares.begin(), shares.end()) - shares.begin());
    auto with_chosen = party.heard(0);
    with_chosen.looks.push_back(with_chosen.chosen);
    const auto honest =
        estimate::share_estimates(posterior(party.heard(0), learn(std::array{party.heard(0)}, 2)));
    with_chosen.shares.clear();
    Evidence used{classes, with_chosen.looks, {}, 0};
    const auto biased = estimate::share_estimates(estimate::share_posterior(used));
    for (std::size_t k = 0; k < classes; ++k) {
      (k == common ? error_common : error_rare) += biased[k].mean - shares[k];
      (k == common ? honest_common : honest_rare) += honest[k].mean - shares[k];
    }
  }
  const double n = grounds;
  std::printf(
      "\n| estimate after an hour at a station | error of the commonest kind | of the five others "
      "together |\n");
  std::printf("| --- | --- | --- |\n");
  std::printf("| counts and spoken shares (the method) | %+.1f points | %+.1f points |\n",
              100 * honest_common / n, 100 * honest_rare / n);
  std::printf(
      "| counts, and chosen samples as if they were counts | %+.1f points | %+.1f points |\n",
      100 * error_common / n, 100 * error_rare / n);
}

}  // namespace

int main(int argc, char** argv) {
  const int grounds = argc > 1 ? std::atoi(argv[1]) : 2000;
  const int walks = argc > 2 ? std::atoi(argv[2]) : 200;
  coverage(grounds);
  variety(grounds);
  chosen_samples(std::max(100, grounds / 4));
  exercises(walks, Expectation::honest);
  exercises(walks / 2, Expectation::misleading);
}
