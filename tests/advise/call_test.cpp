#include "console/advise/call.hpp"

#include <random>
#include <string>

#include <catch2/catch.hpp>

#include "tests/advise/made_up_journey.hpp"

using namespace stonecall::advise;
using Catch::Matchers::Contains;

namespace {

/// Now 0:40; two departures valued: leaving at once and staying half an hour.
Situation situation(double p_best, bool staying_is_best) {
  Situation s;
  s.now = 40;
  s.here = "Grey Slab";
  s.stations_ahead = {"Fern Gully"};
  s.kinds = {"scoria", "obsidian"};
  s.turn_back = TurnBackTimes{20, 4, 126, 122};
  s.counted_here = true;
  Departure d;
  d.earliest = 3;
  d.latest = 86;
  d.best = staying_is_best ? 33 : 3;
  d.best_low = d.best;
  d.best_high = d.best + 10;
  d.p_best = p_best;
  d.mean_gain.assign(84, 1.0);
  d.mean_gain[0] = staying_is_best ? 1.5 : 2.4;
  d.mean_gain[30] = 2.1;
  d.gain = d.mean_gain[static_cast<std::size_t>(d.best - d.earliest)];
  d.alternatives = {{5, d.mean_gain[0], 1.6, 0.4}};
  d.kinds = {{0, staying_is_best ? 0.5 : -0.5}, {1, staying_is_best ? 0.4 : -0.1}};
  d.stops = {{0, d.best + 5, 20}};
  d.stops_if_leaving = {{0, 8, 40}};
  s.departure = d;
  return s;
}

}  // namespace

TEST_CASE("a clear advantage of staying is called with its time, its figures and how sure") {
  const AdvisedCall call = advise_call(situation(0.84, true));
  CHECK(call.kind == CallKind::stay_until);
  CHECK(call.rule == Rule::value);
  CHECK(call.sentence == "Stay here until 1:13, then move on to Fern Gully.");
  CHECK(call.reason ==
        "Worth 2.10 from now to the end by staying until 1:13, 1.50 by leaving now.");
  CHECK(call.sureness ==
        "84 % sure that staying is the better; the difference is mostly scoria, then obsidian.");
  CHECK(call.until == 73.0);
  CHECK(call.useful_until == 70.0);
  CHECK(call.p_best == 0.84);
  CHECK_FALSE(call.why.empty());
  CHECK_FALSE(call.would_change.empty());
}

TEST_CASE("a clear advantage of leaving is called as moving on") {
  const AdvisedCall call = advise_call(situation(0.9, false));
  CHECK(call.kind == CallKind::move_on);
  CHECK(call.sentence == "Move on now to Fern Gully.");
  CHECK(call.station == 0u);
}

TEST_CASE("before moving on a sample of the ordinary rock is asked for where none is in the bag") {
  Situation s = situation(0.9, false);
  s.no_typical_sample = "scoria";
  s.handling_minutes = 4;
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::get_first);
  CHECK(call.rule == Rule::value);
  CHECK(call.sentence == "Bag one scoria, the ordinary rock here, then move on to Fern Gully.");
  CHECK(call.until == 47.0);
  CHECK_THAT(call.why[0], Contains("about 4 min"));

  Situation staying = situation(0.84, true);
  staying.no_typical_sample = "scoria";
  CHECK(advise_call(staying).kind == CallKind::stay_until);
  CHECK_THAT(advise_call(staying).why[0], Contains("ordinary rock here"));

  s.handling_minutes = 90;  // no time for it before the latest departure
  CHECK(advise_call(s).kind == CallKind::move_on);
}

TEST_CASE("with nothing worth a stop ahead the party is sent back to base") {
  Situation s = situation(0.9, false);
  s.departure->stops.clear();
  CHECK(advise_call(s).sentence == "Start back to base now.");
}

TEST_CASE("a short stay that is about one kind is called as getting that kind first") {
  Situation s = situation(0.9, true);
  s.departure->best = 13;
  s.departure->mean_gain[10] = 2.1;
  s.departure->kinds = {{1, 0.5}, {0, 0.1}};
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::get_first);
  CHECK(call.rule == Rule::value);
  CHECK(call.kind_wanted == 1u);
  CHECK(call.sentence == "Look for obsidian here until 0:53, then move on to Fern Gully.");
}

TEST_CASE("a stay of a minute or two is not called: leaving is weighed against five minutes") {
  Situation s = situation(0.9, true);
  Departure& d = *s.departure;
  d.best = 5;
  d.mean_gain.assign(84, 1.0);
  d.mean_gain[0] = 2.3;
  d.mean_gain[2] = 2.4;  // the best, two minutes on
  d.mean_gain[5] = 2.0;
  d.p_best = 0.55;  // of two minutes more against none
  d.table = {4, 84, std::vector<float>(4 * 84, 0.f)};
  for (std::size_t draw = 0; draw < 4; ++draw) {
    d.table.gains[draw * 84] = 2.3f;
    d.table.gains[draw * 84 + 5] = draw == 0 ? 3.f : 1.7f;
  }
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::move_on);
  CHECK(call.reason == "Worth 2.30 from now to the end by leaving, 2.00 by staying until 0:48.");
  CHECK(call.p_best == 0.75);
  CHECK_THAT(call.sureness, Contains("75 % sure that leaving is the better"));
  CHECK(call.until == 43.0);

  // Where five minutes more beat leaving too, it is a stay, short as it is.
  d.mean_gain[5] = 2.35;
  d.p_best = 0.8;
  const AdvisedCall stay = advise_call(s);
  CHECK(stay.until == 45.0);
  CHECK(stay.reason ==
        "Worth 2.40 from now to the end by staying until 0:45, 2.30 by leaving now.");
}

TEST_CASE("inside the noise no departure is advised") {
  const AdvisedCall call = advise_call(situation(0.62, true));
  CHECK(call.kind == CallKind::no_call);
  CHECK(call.sureness == "62 % sure which is the better, 70 % asked for.");
}

TEST_CASE("a difference nobody would notice is no call, however sure") {
  Situation s = situation(0.95, true);
  s.departure->mean_gain[30] = s.departure->mean_gain[0] + 0.01;
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::no_call);
  CHECK(call.sureness == "95 % sure which is the better, but by less than anybody would notice.");
}

TEST_CASE(
    "inside the noise a count is asked for where knowing is worth more than the minute it takes") {
  Situation s = situation(0.62, true);
  s.asking = WorthOfAsking{0.12, 0.05, 0.3};
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::ask);
  CHECK(call.rule == Rule::asking);
  CHECK_THAT(call.reason, Contains("30 %"));
  s.asking = WorthOfAsking{0.02, 0.05, 0.3};
  CHECK(advise_call(s).kind == CallKind::no_call);
}

TEST_CASE("with no unselective count here and no clear call, a count is asked for") {
  Situation s = situation(0.62, true);
  s.counted_here = false;
  CHECK(advise_call(s).kind == CallKind::ask);
}

TEST_CASE("what is missing from samples in hand comes before stay or move") {
  Situation s = situation(0.95, false);
  s.missing = {
      {"31", "down-sun picture", 1}, {"31", "how deep it sat", 0.5}, {"29", "tie to base", 1}};
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::get_first);
  CHECK(call.rule == Rule::documentation);
  CHECK(call.sentence == "Before moving, for sample 31: down-sun picture, how deep it sat.");
  CHECK(call.why[0] == "Something is missing of 1 other sample here too.");
  CHECK_THAT(call.reason, Contains("about 3 min for all that is missing here"));
}

TEST_CASE("samples that lack something are counted as samples, not as what they lack") {
  Situation s = situation(0.95, false);
  s.missing = {{"31", "down-sun picture", 1},
               {"29", "stereo pair, tie to base", 1.5},
               {"29", "how deep it sat", 0.25},
               {"30", "tie to base", 0.5}};
  CHECK(advise_call(s).why[0] == "Something is missing of 2 other samples here too.");
  s.now = 113;
  CHECK(advise_call(s).why[1] ==
        "Left undone here: down-sun picture of sample 31, and something of 2 other samples here.");
}

TEST_CASE("a sentence that begins with a chance in words begins with a capital") {
  CHECK_THAT(advise_call(situation(0.999, true)).sureness,
             Catch::StartsWith("Over 99 % sure that staying is the better"));
}

TEST_CASE("a chance that falls short of what is asked for does not read as if it did not") {
  const AdvisedCall call = advise_call(situation(0.697, true));
  CHECK(call.kind == CallKind::no_call);
  CHECK(call.sureness == "69 % sure which is the better, 70 % asked for.");
}

TEST_CASE("documentation that no longer fits before the latest departure is not asked for") {
  Situation s = situation(0.95, false);
  s.now = 110;
  s.turn_back = TurnBackTimes{20, 4, 126, 125};
  s.departure->latest = 5;  // the party hears of it in three minutes
  s.missing = {{"31", "stereo pair", 2.5}, {"29", "place after lifting", 1}};
  const AdvisedCall call = advise_call(s);
  CHECK(call.rule == Rule::documentation);
  CHECK(call.sentence == "Before moving, for sample 29: place after lifting.");
  // The pair is not among the minutes: they would not be enough for it.
  CHECK_THAT(call.reason, Contains("about 1 min for what still fits"));
  CHECK(call.why.back() == "Not all that is missing here fits before the latest departure.");
}

TEST_CASE("the return limit comes before everything") {
  Situation s = situation(0.99, true);
  s.now = 113;
  s.missing = {{"31", "down-sun picture", 1}};
  s.asking = WorthOfAsking{5, 0, 1};
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::turn_back);
  CHECK(call.rule == Rule::return_limit);
  CHECK(call.sentence == "Turn back to base: leave Grey Slab by 2:06.");
  CHECK(call.useful_until == 122.0);
  CHECK(call.why[0] == turn_back_caution);
  CHECK_FALSE(call.p_best);
}

TEST_CASE("past the latest departure the party is told to turn back at once") {
  Situation s = situation(0.99, true);
  s.now = 130;
  const AdvisedCall call = advise_call(s);
  CHECK(call.sentence == "Turn back to base at once.");
  CHECK_THAT(call.reason, Contains("was 2:06"));
}

TEST_CASE(
    "a departure that is late for the link is the return limit even without a walk worked out") {
  Situation s;
  s.departure = Departure{};
  s.departure->late = true;
  CHECK(advise_call(s).kind == CallKind::turn_back);
}

TEST_CASE("with nothing to go by the desk says so") {
  Situation s;
  s.counted_here = true;
  const AdvisedCall call = advise_call(s);
  CHECK(call.kind == CallKind::no_call);
  CHECK_FALSE(call.reason.empty());
}

TEST_CASE("no stay is ever advised beyond the latest departure") {
  std::mt19937_64 random(61);
  std::uniform_real_distribution<double> uniform;
  int stays = 0;
  for (int i = 0; i < 80; ++i) {
    MadeUp made =
        made_up(5, 40, static_cast<std::size_t>(i % 3), 10 + 100 * uniform(random), random);
    made.journey.base_from_here = 5 + 20 * uniform(random);
    made.journey.acts_in_minutes = 3;
    Situation s;
    s.now = 30;
    s.counted_here = uniform(random) < 0.5;
    s.confident = 0.5 + 0.4 * uniform(random);
    const double latest = s.now + made.journey.minutes_left - made.journey.base_from_here;
    s.turn_back = TurnBackTimes{made.journey.base_from_here, 0, latest, latest - 3};
    s.departure = *best_departure(made.kinds, made.draws, made.journey);
    const AdvisedCall call = advise_call(s);
    CAPTURE(i, call.sentence);
    if (call.until) CHECK(*call.until <= latest);
    if (call.kind != CallKind::turn_back) CHECK(s.now < latest - 3 - s.warn_minutes);
    CHECK_FALSE(call.sentence.empty());
    CHECK_FALSE(call.reason.empty());
    CHECK_FALSE(call.sureness.empty());
    stays += call.kind == CallKind::stay_until;
  }
  CHECK(stays > 0);
}
