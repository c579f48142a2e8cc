#include "console/estimate/calculator.hpp"

#include <cmath>
#include <cstdint>
#include <initializer_list>
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "console/estimate/abundance.hpp"
#include "console/estimate/caller.hpp"
#include "console/estimate/commonness.hpp"
#include "console/estimate/disagreement.hpp"
#include "console/estimate/diversity.hpp"
#include "console/estimate/ground.hpp"
#include "console/estimate/intervals.hpp"
#include "console/estimate/pace.hpp"
#include "console/estimate/patchiness.hpp"
#include "console/estimate/rarefaction.hpp"
#include "console/estimate/richness.hpp"
#include "console/estimate/sample_size.hpp"
#include "console/estimate/size_class.hpp"
#include "console/estimate/unseen.hpp"

namespace stonecall::estimate {
namespace {

using protocol::Fault;
using protocol::Json;

constexpr double most_counted = 1e9;
constexpr std::size_t most_kinds = 500;
constexpr std::size_t most_looks = 1000;
constexpr std::size_t most_sizes = 20;

// Reads an object's members and keeps the first fault; after one, what is read no longer matters.
class Members {
 public:
  Members(const Json& json, std::string path, std::optional<Fault>& fault)
      : json_(json), path_(std::move(path)), fault_(fault) {
    if (!json.is_object()) fail("", "must be an object");
  }

  void only(std::initializer_list<std::string_view> known) {
    if (!json_.is_object()) return;
    for (const auto& [name, value] : json_.items()) {
      bool found = false;
      for (const auto each : known) found = found || each == name;
      if (!found) fail(name, "is not known here");
    }
  }

  const Json* find(const char* name) const {
    if (fault_ || !json_.is_object()) return nullptr;
    const auto found = json_.find(name);
    return found == json_.end() ? nullptr : &*found;
  }

  double number(const char* name, double least, double most, std::optional<double> otherwise = {}) {
    const auto* json = find(name);
    if (json == nullptr) {
      if (!otherwise) fail(name, "missing");
      return otherwise.value_or(least);
    }
    return number_of(*json, at(name), least, most);
  }

  std::int64_t count(const char* name, std::optional<std::int64_t> otherwise = {}) {
    const auto* json = find(name);
    if (json == nullptr) {
      if (!otherwise) fail(name, "missing");
      return otherwise.value_or(0);
    }
    return count_of(*json, at(name));
  }

  bool flag(const char* name) {
    const auto* json = find(name);
    if (json == nullptr) return false;
    if (!json->is_boolean()) fail(name, "must be true or false");
    return json->is_boolean() && json->get<bool>();
  }

  std::vector<std::int64_t> counts_of(const Json& json, const std::string& path) {
    std::vector<std::int64_t> counts;
    if (!json.is_array() || json.empty() || json.size() > most_kinds) {
      set(path, "must be a list of 1 to " + std::to_string(most_kinds) + " counts");
      return counts;
    }
    for (const auto& each : json) {
      counts.push_back(count_of(each, path + "[" + std::to_string(counts.size()) + "]"));
    }
    return counts;
  }

  std::vector<std::int64_t> counts(const char* name, std::vector<std::int64_t> otherwise = {}) {
    const auto* json = find(name);
    return json == nullptr ? otherwise : counts_of(*json, at(name));
  }

  double number_of(const Json& json, const std::string& path, double least, double most) {
    if (json.is_number()) {
      const auto value = json.get<double>();
      if (value >= least && value <= most) return value;
    }
    set(path, "must be a number from " + text(least) + " to " + text(most));
    return least;
  }

  std::string at(const std::string& name) const {
    return path_.empty() ? name : name.empty() ? path_ : path_ + "." + name;
  }
  void fail(const std::string& name, std::string what) { set(at(name), std::move(what)); }
  std::optional<Fault>& fault() { return fault_; }

 private:
  std::int64_t count_of(const Json& json, const std::string& path) {
    if (json.is_number()) {
      const auto value = json.get<double>();
      if (value >= 0 && value <= most_counted && value == std::floor(value)) {
        return static_cast<std::int64_t>(value);
      }
    }
    set(path, "must be a whole number from 0 to 1000000000");
    return 0;
  }

  static std::string text(double value) { return Json(value).dump(); }

  void set(const std::string& path, std::string what) {
    if (!fault_) fault_ = Fault{path, std::move(what), std::nullopt};
  }

  const Json& json_;
  std::string path_;
  std::optional<Fault>& fault_;
};

constexpr double least_probability = 1e-9;
constexpr double most_probability = 1 - 1e-9;

// --- figures as JSON ---

Json shown(NoBasis reason) {
  return std::string(to_string(reason));
}
Json shown(double value) {
  return value;
}
Json shown(std::int64_t value) {
  return value;
}
Json shown(const Interval& i) {
  return {{"lower", i.lower}, {"upper", i.upper}};
}
Json shown(const WithError& e) {
  return {{"estimate", e.value}, {"standard_error", e.standard_error}};
}

template <class T>
Json shown(const Estimate<T>& estimate) {
  return estimate ? shown(*estimate) : shown(estimate.error());
}

// --- one tally or several looks ---

struct Tallies {
  Evidence evidence;
  std::vector<std::int64_t> counts;      // over all looks
  std::vector<std::int64_t> told_apart;  // the same without the last column where that is "other"
  Looks looks;
};

void read_share(Members& share, Evidence& evidence) {
  share.only({"kind", "percent", "best_percent", "spread_percent", "bias_percent", "caller"});
  SpokenShare spoken;
  spoken.kind = static_cast<std::size_t>(share.count("kind"));
  if (spoken.kind >= evidence.classes) share.fail("kind", "is not one of the kinds counted");
  const auto* percent = share.find("percent");
  if (percent == nullptr || !percent->is_array() || percent->size() != 2) {
    share.fail("percent", "must be a range: [low, high]");
    return;
  }
  spoken.low = share.number_of((*percent)[0], share.at("percent[0]"), 0, 100) / 100;
  spoken.high = share.number_of((*percent)[1], share.at("percent[1]"), 0, 100) / 100;
  if (spoken.low > spoken.high) share.fail("percent", "must not fall");
  if (share.find("best_percent") != nullptr) {
    spoken.best = share.number("best_percent", 100 * spoken.low, 100 * spoken.high) / 100;
  }
  spoken.spread = share.number("spread_percent", 0.1, 100, 10) / 100;
  spoken.bias = share.number("bias_percent", -100, 100, 0) / 100;
  spoken.caller = static_cast<std::size_t>(share.count("caller", 0));
  evidence.shares.push_back(spoken);
}

Tallies read_tallies(Members& request) {
  Tallies tallies;
  auto& evidence = tallies.evidence;
  if (const auto* looks = request.find("looks")) {
    if (!looks->is_array() || looks->empty() || looks->size() > most_looks) {
      request.fail("looks", "must be a list of 1 to " + std::to_string(most_looks) + " looks");
      return tallies;
    }
    for (const auto& look : *looks) {
      const auto path = "looks[" + std::to_string(evidence.looks.size()) + "]";
      evidence.looks.push_back(request.counts_of(look, path));
      if (evidence.looks.back().size() != evidence.looks.front().size()) {
        request.fail(path, "must be as long as the first look");
      }
    }
    if (request.find("counts") != nullptr) request.fail("counts", "give counts or looks, not both");
  } else {
    evidence.looks.push_back(request.counts("counts"));
  }
  if (request.fault()) return tallies;

  evidence.classes = evidence.looks.front().size();
  evidence.chosen_not_used = request.count("chosen", 0);
  tallies.looks = evidence.looks;
  tallies.counts.assign(evidence.classes, 0);
  for (const auto& look : evidence.looks) {
    for (std::size_t i = 0; i < look.size(); ++i) tallies.counts[i] += look[i];
  }
  tallies.told_apart = tallies.counts;
  if (request.flag("other_last")) tallies.told_apart.pop_back();
  if (const auto* shares = request.find("shares")) {
    if (!shares->is_array() || shares->size() > most_looks) {
      request.fail("shares", "must be a list");
      return tallies;
    }
    for (const auto& each : *shares) {
      Members share(each, "shares[" + std::to_string(evidence.shares.size()) + "]",
                    request.fault());
      read_share(share, evidence);
      if (request.fault()) return tallies;
    }
  }
  return tallies;
}

std::string_view name_of(Commonness label) {
  switch (label) {
    case Commonness::typical:
      return "typical";
    case Commonness::uncommon:
      return "uncommon";
    case Commonness::rare:
      return "rare";
  }
  return "";
}

Json kinds_of(const Tallies& tallies, const SharePosterior& posterior, double confidence) {
  const ShareMarginals shares(posterior);
  const auto together = goodman(tallies.counts, confidence);
  const auto close = sison_glaz(tallies.counts, confidence);
  const auto counted = posterior.basis.counted;
  const auto of_all = [](const Estimate<std::vector<Interval>>& all, std::size_t i) {
    return all ? shown((*all)[i]) : shown(all.error());
  };
  Json kinds = Json::array();
  for (std::size_t i = 0; i < shares.classes(); ++i) {
    const auto met = tallies.counts[i];
    const auto share = shares.estimate(i, confidence);
    const auto label = commonness(shares, i);
    kinds.push_back({{"met", met},
                     {"mean", share.mean},
                     {"standard_deviation", share.standard_deviation},
                     {"interval", shown(share.interval)},
                     {"commonness", name_of(label.label)},
                     {"commonness_probability", label.probability},
                     {"wilson", shown(wilson(met, counted, confidence))},
                     {"clopper_pearson", shown(clopper_pearson(met, counted, confidence))},
                     {"jeffreys", shown(jeffreys(met, counted, confidence))},
                     {"goodman", of_all(together, i)},
                     {"sison_glaz", of_all(close, i)}});
  }
  return kinds;
}

Json unseen_of(Counts counts, double confidence) {
  const auto next = next_is_new(counts, confidence);
  const auto met = met_once_and_twice(counts);
  const auto chao = chao1_classic(counts);
  Json answer;
  answer["kinds_met"] = met ? met->observed : 0;
  answer["met_once"] = met ? met->once : 0;
  answer["met_twice"] = met ? met->twice : 0;
  answer["next_is_new"] =
      next ? Json{{"probability", next->probability}, {"interval", shown(next->interval)}}
           : shown(next.error());
  answer["coverage_good"] = shown(coverage_good(counts));
  answer["coverage_chao_jost"] = shown(coverage_chao_jost(counts));
  answer["unseen_kinds"] = shown(unseen_kinds(counts));
  answer["chao1_bias_corrected"] = shown(chao1_bias_corrected(counts));
  answer["chao1_classic"] = shown(chao);
  answer["chao1_classic_interval"] =
      chao ? shown(chao1_interval(counts, *chao, confidence)) : shown(chao.error());
  answer["chao1_classic_no_n_factor"] = shown(chao1_classic(counts, SmallSample::uncorrected));
  answer["ace"] = shown(ace(counts));
  return answer;
}

Json further_of(Counts counts, const std::vector<std::int64_t>& further) {
  Json answer = Json::array();
  for (const auto rocks : further) {
    const auto more = static_cast<double>(rocks);
    answer.push_back({{"rocks", rocks},
                      {"new_kinds", shown(expected_new_kinds(counts, more))},
                      {"coverage_after", shown(coverage_after(counts, more))}});
  }
  return answer;
}

Json sizes_of(Counts counts, const std::vector<std::int64_t>& sizes) {
  Json answer = Json::array();
  for (const auto rocks : sizes) {
    const auto at = kinds_and_coverage_at(counts, rocks);
    answer.push_back({{"rocks", rocks},
                      {"kinds", at ? shown(at->kinds) : shown(at.error())},
                      {"coverage", at ? shown(at->coverage) : shown(at.error())},
                      {"rarefied", shown(rarefied_kinds(counts, rocks))}});
  }
  return answer;
}

Json shown(const HillNumber& number) {
  return {{"value", number.value}, {"interval", shown(number.interval)}};
}

Json diversity_of(const Tallies& tallies, double patchiness, double confidence) {
  const auto varied = diversity(tallies.told_apart);
  if (!varied) return shown(varied.error());
  auto looks = tallies.looks;
  for (auto& look : looks) look.resize(tallies.told_apart.size());
  const auto ground = ground_diversity(looks, patchiness, confidence);
  return {{"hill_0", varied->kinds},
          {"hill_1", varied->common},
          {"hill_2", varied->dominant},
          {"shannon_nats", varied->shannon_nats},
          {"gini_simpson", varied->gini_simpson},
          {"of_the_ground", ground ? Json{{"hill_0", shown(ground->kinds)},
                                          {"hill_1", shown(ground->common)},
                                          {"hill_2", shown(ground->dominant)}}
                                   : shown(ground.error())}};
}

Json units_of(const Tallies& tallies) {
  // One look tells nothing of how looks differ; an estimate without an error would look certain.
  if (tallies.looks.size() < 2) return shown(NoBasis::too_few_looks);
  Presence presence;
  for (const auto& look : tallies.looks) {
    std::vector<bool> met;
    for (std::size_t i = 0; i < tallies.told_apart.size(); ++i) met.push_back(look[i] > 0);
    presence.push_back(met);
  }
  const auto richness = incidence_richness(presence);
  if (!richness) return shown(richness.error());
  return {{"looks", richness->units},
          {"kinds_met", richness->observed},
          {"met_in_one", richness->unique},
          {"met_in_two", richness->duplicate},
          {"chao2", shown(richness->chao2)},
          {"chao2_no_t_factor", shown(richness->chao2_no_factor)},
          {"jackknife_1", shown(richness->jackknife1)},
          {"jackknife_2", richness->jackknife2},
          {"bootstrap", shown(richness->bootstrap)}};
}

Json disagreements_of(const Evidence& evidence, double effect) {
  Json answer = Json::array();
  for (const auto& each : disagreements(evidence, effect)) {
    answer.push_back({{"share", each.share},
                      {"said", each.said},
                      {"met", each.met},
                      {"counted", each.counted},
                      {"expected", each.expected.share},
                      {"expected_range", shown(each.expected.range)}});
  }
  return answer;
}

void answer_tallies(Members& request, double confidence, Json& answer) {
  const auto tallies = read_tallies(request);
  const double prior = request.number("prior_each", 1e-3, 1e3, 0.5);
  const auto further = request.counts("further", {1, 10, 50});
  const auto sizes = request.counts("sizes", {10});
  if (further.size() > most_sizes) request.fail("further", "asks for too many at once");
  if (sizes.size() > most_sizes) request.fail("sizes", "asks for too many at once");
  const auto own_patchiness = patchiness(std::span(&tallies.looks, 1));
  const double effect =
      request.number("design_effect", 1, 1e6, request.fault() ? 1 : design_effect(tallies.looks));
  if (request.fault()) return;
  const auto posterior = share_posterior(tallies.evidence, effect, prior);
  const auto& basis = posterior.basis;
  answer["basis"] = {{"sentence", to_sentence(basis)},
                     {"counted", basis.counted},
                     {"looks", basis.looks},
                     {"shares", basis.shares},
                     {"chosen_not_used", basis.chosen_not_used},
                     {"design_effect", basis.design_effect},
                     {"patchiness", shown(own_patchiness)}};
  answer["kinds"] = kinds_of(tallies, posterior, confidence);
  answer["disagreements"] = disagreements_of(tallies.evidence, effect);
  answer["unseen"] = unseen_of(tallies.told_apart, confidence);
  answer["further"] = further_of(tallies.told_apart, further);
  answer["sizes"] = sizes_of(tallies.told_apart, sizes);
  answer["diversity"] = diversity_of(tallies, own_patchiness.value_or(0), confidence);
  answer["looks_as_units"] = units_of(tallies);
}

// --- the other questions ---

Json answer_kind(Members kind, double confidence) {
  kind.only({"met", "counted"});
  const auto met = kind.count("met");
  const auto counted = kind.count("counted");
  if (met > counted) kind.fail("met", "must not be above counted");
  if (kind.fault()) return {};
  const auto n = static_cast<double>(counted);
  const double percent = counted > 0 ? 100 * static_cast<double>(met) / n : 0;
  return {{"wilson", shown(wilson(met, counted, confidence))},
          {"wilson_lower_one_sided", shown(wilson_lower(met, counted, confidence))},
          {"clopper_pearson", shown(clopper_pearson(met, counted, confidence))},
          {"jeffreys", shown(jeffreys(met, counted, confidence))},
          {"jeffreys_keeping_ends", shown(jeffreys_keeping_ends(met, counted, confidence))},
          {"point_count_two_sigma_percent", shown(point_count_two_sigma_percent(percent, n))},
          {"none_met_upper_one_sided", shown(none_met_upper(counted, confidence))},
          {"rule_of_three", shown(rule_of_three(counted))}};
}

Json answer_meet(Members meet) {
  meet.only({"share", "confidence"});
  const double share = meet.number("share", 1e-12, 1);
  const double confidence = meet.number("confidence", 0, most_probability, 0.95);
  if (meet.fault()) return {};
  const auto rocks = rocks_to_meet(share, confidence);
  return {
      {"rocks", shown(rocks)},
      {"probability_met", rocks ? shown(probability_met(share, *rocks)) : shown(rocks.error())}};
}

Json answer_miss_none(Members miss) {
  miss.only({"smallest_share", "miss_probability"});
  const double share = miss.number("smallest_share", 1e-6, most_probability);
  const double probability =
      miss.number("miss_probability", least_probability, most_probability, 0.05);
  if (miss.fault()) return {};
  return {{"rocks", shown(rocks_to_miss_none(share, probability))}};
}

Json answer_pace(Members pace, double confidence) {
  pace.only({"events", "minutes", "prior_events", "prior_minutes", "further_minutes"});
  const auto rate = rate_posterior(pace.number("events", 0, most_counted),
                                   pace.number("minutes", 0, most_counted),
                                   pace.number("prior_events", 0, most_counted, 0.5),
                                   pace.number("prior_minutes", 0, most_counted, 0));
  const double further = pace.number("further_minutes", 0, 1e6, 10);
  if (pace.fault()) return {};
  if (!rate) return shown(rate.error());
  const double tail = (1 - confidence) / 2;
  const Forecast ahead(*rate, further);
  return {{"per_minute",
           {{"mean", rate->mean()},
            {"standard_deviation", rate->standard_deviation()},
            {"interval", shown(rate->interval(confidence))}}},
          {"forecast",
           {{"minutes", further},
            {"mean", ahead.mean()},
            {"lower", ahead.quantile(tail)},
            {"upper", ahead.quantile(1 - tail)},
            {"probability_of_none", ahead.probability_of(0)},
            {"probability_of_any", ahead.probability_at_least(1)}}}};
}

Json answer_same_ground(Members& request, const Json& stations) {
  if (!stations.is_array() || stations.size() != 2) {
    request.fail("same_ground", "must be the counts at two stations");
    return {};
  }
  const auto here = request.counts_of(stations[0], "same_ground[0]");
  const auto there = request.counts_of(stations[1], "same_ground[1]");
  if (here.size() != there.size()) request.fail("same_ground", "must have the same kinds twice");
  const double prior = request.number("prior_each", 1e-3, 1e3, 0.5);
  if (request.fault()) return {};
  const auto same = same_ground(std::vector<double>(here.begin(), here.end()),
                                std::vector<double>(there.begin(), there.end()), prior);
  return {{"log_bayes_factor", same.log_bayes_factor}, {"probability", same.probability}};
}

Json answer_caller(Members caller) {
  caller.only({"pairs", "spread_percent"});
  const double setting = caller.number("spread_percent", 0.1, 100, 10) / 100;
  std::vector<SpokenAndCounted> pairs;
  const auto* list = caller.find("pairs");
  if (list == nullptr || !list->is_array() || list->size() > most_looks) {
    caller.fail("pairs", "must be a list");
    return {};
  }
  for (const auto& each : *list) {
    Members pair(each, caller.at("pairs[" + std::to_string(pairs.size()) + "]"), caller.fault());
    pair.only({"spoken_percent", "range_percent", "met", "counted"});
    SpokenAndCounted both{pair.number("spoken_percent", 0, 100) / 100,
                          pair.number("range_percent", 0, 100, 0) / 100, pair.count("met"),
                          pair.count("counted"), 1};
    if (both.counted < 1) pair.fail("counted", "must be at least 1");
    if (both.met > both.counted) pair.fail("met", "must not be above counted");
    if (caller.fault()) return {};
    pairs.push_back(both);
  }
  const auto record = learn_caller(pairs, setting);
  return {{"pairs", record.pairs},
          {"bias", record.bias},
          {"bias_error", record.bias_error},
          {"spread", record.spread}};
}

Json answer_size(double diameter_mm) {
  const auto name = [](const std::optional<SizeClass>& found) {
    return found ? Json(found->name) : Json("not possible: a size is above zero");
  };
  const auto number = phi(diameter_mm);
  return {{"wentworth", name(size_class(SizeScale::wentworth, diameter_mm))},
          {"iso_14688_1", name(size_class(SizeScale::iso_14688_1, diameter_mm))},
          {"phi", number ? Json(*number) : Json("not possible: a size is above zero")}};
}

}  // namespace

protocol::Result<protocol::Json> calculate(const protocol::Json& request) {
  std::optional<Fault> fault;
  Members members(request, "", fault);
  members.only({"counts", "looks", "shares", "chosen", "other_last", "prior_each", "further",
                "sizes", "design_effect", "kind", "meet", "miss_none", "pace", "same_ground",
                "caller", "size_mm", "roundness", "confidence"});
  const double confidence =
      members.number("confidence", least_probability, most_probability, shown_confidence);
  Json answer = Json::object();
  if (members.find("counts") != nullptr || members.find("looks") != nullptr) {
    answer_tallies(members, confidence, answer);
  }
  const auto part = [&](const char* name, const auto& calculate_part) {
    if (const auto* json = members.find(name)) answer[name] = calculate_part(*json);
  };
  part("kind", [&](const Json& j) { return answer_kind({j, "kind", fault}, confidence); });
  part("meet", [&](const Json& j) { return answer_meet({j, "meet", fault}); });
  part("miss_none", [&](const Json& j) { return answer_miss_none({j, "miss_none", fault}); });
  part("pace", [&](const Json& j) { return answer_pace({j, "pace", fault}, confidence); });
  part("same_ground", [&](const Json& j) { return answer_same_ground(members, j); });
  part("caller", [&](const Json& j) { return answer_caller({j, "caller", fault}); });
  part("size_mm",
       [&](const Json& j) { return answer_size(members.number_of(j, "size_mm", 0, 1e9)); });
  part("roundness", [&](const Json& j) {
    const auto found = roundness_class(members.number_of(j, "roundness", 0, 1));
    return found ? Json(found->name) : Json("no class: the scale starts at 0.12");
  });
  if (fault) return tl::unexpected(*fault);
  if (answer.empty()) {
    return tl::unexpected(Fault{"",
                                "asks nothing; give counts, looks, kind, meet, miss_none, pace, "
                                "same_ground, caller, size_mm or roundness",
                                std::nullopt});
  }
  return answer;
}

}  // namespace stonecall::estimate
