#include "console/commands/advise.hpp"

#include <algorithm>
#include <cmath>
#include <ostream>
#include <ranges>

#include "console/advise/turn_back.hpp"
#include "console/picture/fold.hpp"
#include "protocol/log.hpp"

namespace stonecall::commands {
namespace {

using advise::Figure;
using picture::Instant;
using picture::Milliseconds;
using protocol::Json;

class Writer {
 public:
  explicit Writer(const picture::Picture& picture)
      : picture_(picture), start_(picture::start_of(picture)) {}

  Json whole(const advise::Assessment& now) const {
    Json json{{"at", elapsed(now.now)}, {"events", now.events}};
    json["clock"] = clock(now.clock);
    json["bagged"] = now.bagged;
    json["documented"] = now.documented;
    json["turn_back"] = maybe(now.turn_back, [&](const auto& each) { return turn_back(each); });
    json["pace"] = maybe(now.pace, [&](const auto& each) { return pace(each); });
    json["here"] = ground(now.here);
    json["whole_exercise"] = ground(now.whole);
    json["same_ground"] = maybe(now.same_ground, [&](double p) {
      return Json{{"probability", p}, {"compared_with", now.compared_with}};
    });
    json["missing_here"] = Json::array();
    for (const auto& each : now.missing) {
      Json gaps = Json::array();
      for (const auto gap : each.gaps) gaps.push_back(std::string(picture::words(gap)));
      const auto& sample = picture_.samples[each.sample];
      json["missing_here"].push_back(
          {{"sample", sample.number}, {"bag", sample.bag}, {"missing", std::move(gaps)}});
    }
    json["advice"] = maybe(now.advice, [&](const auto& each) { return advice(each); });
    json["look_at"] = Json::array();
    for (const auto& flag : picture_.flags) json["look_at"].push_back(flag.text);
    return json;
  }

 private:
  template <class T, class Write>
  static Json maybe(const std::optional<T>& value, Write write) {
    return value ? Json(write(*value)) : Json(nullptr);
  }

  Json elapsed(Instant instant) const { return protocol::elapsed_text(instant - start_); }
  static Json elapsed(Milliseconds time) { return protocol::elapsed_text(time); }

  static Json figure(const Figure& figure) {
    return {{"mean", figure.mean}, {"low", figure.low}, {"high", figure.high}};
  }

  static Json clock(const advise::Clock& clock) {
    return {{"station", clock.station ? Json(*clock.station) : Json(nullptr)},
            {"time_here", elapsed(clock.here)},
            {"allotted_minutes",
             clock.allotted_minutes ? Json(*clock.allotted_minutes) : Json(nullptr)},
            {"last_word_age", clock.word_age ? elapsed(*clock.word_age) : Json(nullptr)}};
  }

  /// Before the start as after it the second shown is never later than the time itself.
  static Json no_later(Milliseconds time) {
    return elapsed(std::chrono::floor<std::chrono::seconds>(time));
  }

  static Json turn_back(const advise::TurnBack& back) {
    return {{"from", back.from},
            {"distance_metres", std::round(back.distance_metres)},
            {"walk_minutes", back.walk_minutes},
            {"margin_percent", back.margin_percent},
            {"latest_departure", no_later(back.latest_departure)},
            {"latest_useful_call", no_later(back.latest_useful_call)},
            {"caution", std::string(advise::turn_back_caution)}};
  }

  static Json pace(const advise::PaceNow& pace) {
    return {{"rocks_per_minute", figure(pace.rocks_per_minute)},
            {"minutes_per_sample", figure(pace.minutes_per_sample)},
            {"rocks", pace.rocks},
            {"samples", pace.samples},
            {"minutes_at_stations", pace.minutes}};
  }

  Json ground(const advise::Ground& ground) const {
    Json json{{"station", ground.station}};
    json["rests_on"] = {{"counted", ground.basis.counted},
                        {"looks", ground.basis.looks},
                        {"unselective_samples", ground.basis.unselective},
                        {"spoken_shares", ground.basis.spoken_shares},
                        {"chosen_samples_not_used", ground.basis.chosen_not_used},
                        {"design_effect", ground.basis.design_effect}};
    json["kinds"] = Json::array();
    for (const auto& row : ground.kinds) {
      json["kinds"].push_back(
          {{"rock", row.rock},
           {"bagged", row.bagged},
           {"wanted", row.wanted},
           {"documented", row.documented},
           {"counted", row.counted},
           {"share", row.share ? figure(*row.share) : Json("no basis")},
           {"first_seen", row.first_seen ? elapsed(*row.first_seen) : Json(nullptr)},
           {"label", row.label.empty() ? Json("no basis") : Json(row.label)},
           {"label_probability", row.label_probability},
           {"elsewhere", row.reach.empty() ? Json("no basis") : Json(row.reach)},
           {"said_absent", row.said_absent}});
    }
    json["no_typical_sample"] =
        ground.no_typical_sample ? Json(*ground.no_typical_sample) : Json(nullptr);
    json["other"] = ground.other ? figure(*ground.other) : Json("no basis");
    json["not_seen_yet"] =
        ground.unseen ? unseen(*ground.unseen) : Json("no basis: ask for a tally");
    json["disagreements"] = Json::array();
    for (const auto& each : ground.disagreements) {
      json["disagreements"].push_back({{"rock", each.rock},
                                       {"caller", each.caller},
                                       {"at", elapsed(each.at)},
                                       {"said", {each.said_low, each.said_high}},
                                       {"counts_say", {each.counts_low, each.counts_high}}});
    }
    return json;
  }

  static Json unseen(const advise::NotSeenYet& unseen) {
    return {{"counted", unseen.counted},
            {"kinds_met", unseen.kinds_met},
            {"next_is_new", figure(unseen.next_is_new)},
            {"new_in_ten_minutes",
             unseen.new_in_ten_minutes ? figure(*unseen.new_in_ten_minutes) : Json("no basis")},
            {"chao1", figure(unseen.chao1)},
            {"coverage", figure(unseen.coverage)},
            {"needed_for_five_percent", unseen.needed_for_five_percent}};
  }

  static Json advice(const advise::Advice& advice) {
    const auto maybe_elapsed = [](const std::optional<Milliseconds>& time) {
      return time ? elapsed(*time) : Json(nullptr);
    };
    const std::vector<std::string> why(advice.why.begin(), advice.why.end());
    return {{"call", advice.sentence.elapsed()},
            {"reason", advice.reason.elapsed()},
            {"sureness", advice.sureness.elapsed()},
            {"why", why},
            {"depart", maybe_elapsed(advice.depart)},
            {"depart_10_90",
             {maybe_elapsed(advice.depart_earliest), maybe_elapsed(advice.depart_latest)}},
            {"p_best", advice.p_best > 0 ? Json(advice.p_best) : Json(nullptr)},
            {"plan_holds", advice.plan_holds},
            {"best_elsewhere", advice.best_elsewhere}};
  }

  const picture::Picture& picture_;
  Instant start_;
};

}  // namespace

Json to_json(const advise::Assessment& assessment, const picture::Picture& picture) {
  return Writer(picture).whole(assessment);
}

int advise(const std::string& path, const std::optional<Milliseconds>& at, std::ostream& out,
           std::ostream& err) {
  const auto log = protocol::read_log_file(path);
  if (!log) {
    err << "stonecall: " << protocol::to_string(log.error()) << '\n';
    return 2;
  }
  for (const auto& fault : log->faults) err << path << ": " << protocol::to_string(fault) << '\n';
  if (log->events.empty()) {
    err << "stonecall: no event could be read from " << path << '\n';
    return 2;
  }
  const auto whole = picture::fold(log->events);
  Instant now = std::ranges::max(log->events | std::views::transform([](const auto& event) {
                                   return protocol::known_at(*event).instant;
                                 }));
  if (at) now = picture::start_of(*whole) + *at;
  const auto then = picture::fold(picture::known_by(log->events, now));
  out << to_json(advise::assess_with_advice(*then, now), *then).dump(2) << '\n';
  return 0;
}

}  // namespace stonecall::commands
