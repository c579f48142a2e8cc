#include "tests/estimate/reference_values.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <map>
#include <sstream>

#include "console/estimate/abundance.hpp"
#include "console/estimate/caller.hpp"
#include "console/estimate/diversity.hpp"
#include "console/estimate/geodesy.hpp"
#include "console/estimate/ground.hpp"
#include "console/estimate/intervals.hpp"
#include "console/estimate/pace.hpp"
#include "console/estimate/patchiness.hpp"
#include "console/estimate/rarefaction.hpp"
#include "console/estimate/richness.hpp"
#include "console/estimate/sample_size.hpp"
#include "console/estimate/size_class.hpp"
#include "console/estimate/sun.hpp"
#include "console/estimate/unseen.hpp"
#include "protocol/time.hpp"

namespace stonecall::estimate {
namespace {

using Json = nlohmann::json;
using IntegerList = std::vector<std::int64_t>;

// --- what our functions answer, in the shape of the file's `expected` ---

Json none(NoBasis reason) {
  return std::string(to_string(reason));
}

template <class T, class Shape>
Json shaped(const Estimate<T>& estimate, Shape shape) {
  return estimate ? Json(shape(*estimate)) : none(estimate.error());
}

Json number(const Estimate<double>& estimate) {
  return shaped(estimate, [](double value) { return value; });
}

Json value_of(const Estimate<WithError>& e) {
  return shaped(e, [](const WithError& figure) { return figure.value; });
}

Json error_of(const Estimate<WithError>& e) {
  return shaped(e, [](const WithError& figure) { return figure.standard_error; });
}

Json ends(const Estimate<Interval>& e) {
  return shaped(e, [](const Interval& i) { return Json{{"lower", i.lower}, {"upper", i.upper}}; });
}

Json ends(const Estimate<std::vector<Interval>>& e) {
  return shaped(e, [](const std::vector<Interval>& intervals) {
    Json lower = Json::array(), upper = Json::array();
    for (const auto& i : intervals) {
      lower.push_back(i.lower);
      upper.push_back(i.upper);
    }
    return Json{{"lower", lower}, {"upper", upper}};
  });
}

std::vector<std::string> names_in(const Json& expected, const char* member) {
  std::vector<std::string> names;
  if (!expected.contains(member)) return names;
  for (const auto& [name, unused] : expected.at(member).items()) names.push_back(name);
  return names;
}

IntegerList counts_of(const Json& input) {
  return input.at("counts").get<IntegerList>();
}

using Binomial = Estimate<Interval> (*)(std::int64_t, std::int64_t, double);

template <Binomial interval>
Json binomial(const Json& in, const Json&) {
  return ends(interval(in.at("k"), in.at("n"), in.at("confidence")));
}

Json jeffreys_both(const Json& in, const Json&) {
  auto answer = ends(jeffreys(in.at("k"), in.at("n"), in.at("confidence")));
  const auto kept = jeffreys_keeping_ends(in.at("k"), in.at("n"), in.at("confidence"));
  if (kept) {
    answer["lower_bcd_convention"] = kept->lower;
    answer["upper_bcd_convention"] = kept->upper;
  }
  return answer;
}

Json dirichlet(const Json& in, const Json& expected) {
  Evidence evidence;
  evidence.looks = {counts_of(in)};
  evidence.classes = evidence.looks.front().size();
  const auto posterior = share_posterior(evidence, 1, in.at("prior_alpha_each"));
  Json answer{{"mean", Json::array()}, {"sd", Json::array()}, {"quantiles", Json::object()}};
  for (const auto& share : share_estimates(posterior)) {
    answer["mean"].push_back(share.mean);
    answer["sd"].push_back(share.standard_deviation);
  }
  // The quantile q is one end of the central interval of confidence |1 − 2q|; the median lies
  // between ever closer ends.
  for (const auto& name : names_in(expected, "quantiles")) {
    const double q = std::stod(name);
    const double confidence = std::max(std::abs(1 - 2 * q), 1e-12);
    auto& quantiles = answer["quantiles"][name] = Json::array();
    for (const auto& share : share_estimates(posterior, confidence)) {
      quantiles.push_back(q <= 0.5 ? share.interval.lower : share.interval.upper);
    }
  }
  return answer;
}

Json spoken_shares(const Json& in, const Json&) {
  Evidence evidence;
  evidence.looks = {counts_of(in)};
  evidence.classes = evidence.looks.front().size();
  for (const auto& each : in.at("shares")) {
    SpokenShare said;
    said.kind = each.at("kind");
    said.low = each.at("low");
    said.high = each.at("high");
    if (each.contains("best")) said.best = each.at("best").get<double>();
    said.caller = each.value("caller", std::size_t{0});
    said.bias = each.value("bias", 0.0);
    said.spread = each.at("spread");
    evidence.shares.push_back(said);
  }
  Json answer;
  for (const auto& share :
       share_estimates(share_posterior(evidence, in.at("design_effect"), in.at("prior_each")))) {
    answer["mean"].push_back(share.mean);
    answer["lower"].push_back(share.interval.lower);
    answer["upper"].push_back(share.interval.upper);
  }
  return answer;
}

Json caller_record(const Json& in, const Json&) {
  std::vector<SpokenAndCounted> pairs;
  for (const auto& each : in.at("pairs"))
    pairs.push_back({each.at("spoken"), each.at("range"), each.at("met"), each.at("counted"),
                     each.at("design_effect")});
  const auto record = learn_caller(pairs, in.at("setting_spread"));
  return {{"bias", record.bias}, {"bias_error", record.bias_error}, {"spread", record.spread}};
}

Json same_ground_of_two(const Json& in, const Json&) {
  const auto same =
      same_ground(in.at("here").get<std::vector<double>>(),
                  in.at("there").get<std::vector<double>>(), in.at("prior_each").get<double>());
  return {{"log_bayes_factor", same.log_bayes_factor}, {"probability", same.probability}};
}

Json patchiness_of_looks(const Json& in, const Json&) {
  const auto stations = in.at("stations").get<std::vector<Looks>>();
  const auto found = patchiness(stations);
  Json answer{{"patchiness", number(found)}, {"design_effects", Json::array()}};
  for (const auto& looks : stations)
    answer["design_effects"].push_back(design_effect(looks, found.value_or(0)));
  return answer;
}

Json next_new(const Json& in, const Json&) {
  return shaped(next_is_new(counts_of(in), in.at("confidence")), [](const NextIsNew& next) {
    return Json{{"probability", next.probability},
                {"lower", next.interval.lower},
                {"upper", next.interval.upper}};
  });
}

RatePosterior rate_of(const Json& in) {
  return rate_posterior(in.at("events"), in.at("exposure"), in.at("prior_shape"),
                        in.at("prior_rate"))
      .value();
}

Json rate(const Json& in, const Json& expected) {
  const auto posterior = rate_of(in);
  Json answer{{"mean", posterior.mean()}, {"sd", posterior.standard_deviation()}};
  for (const auto& name : names_in(expected, "quantiles")) {
    answer["quantiles"][name] = posterior.quantile(std::stod(name));
  }
  return answer;
}

Json forecast(const Json& in, const Json& expected) {
  const Forecast ahead(rate_of(in), in.at("further_exposure"));
  Json answer{{"mean", ahead.mean()}, {"prob_at_least_one", ahead.probability_at_least(1)}};
  for (const auto& name : names_in(expected, "pmf")) {
    answer["pmf"][name] = ahead.probability_of(std::stoll(name));
  }
  for (const auto& name : names_in(expected, "cdf")) {
    answer["cdf"][name] = ahead.probability_at_most(std::stoll(name));
  }
  for (const auto& name : names_in(expected, "quantiles")) {
    answer["quantiles"][name] = ahead.quantile(std::stod(name));
  }
  return answer;
}

Json richness_abundance(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  const auto met = met_once_and_twice(counts).value();
  const auto uncorrected = chao1_classic(counts, SmallSample::uncorrected);
  return {{"observed", met.observed},
          {"n", met.counted},
          {"f1", met.once},
          {"f2", met.twice},
          {"chao1_bias_corrected", value_of(chao1_bias_corrected(counts))},
          {"chao1_bias_corrected_se", error_of(chao1_bias_corrected(counts))},
          {"chao1_classic", value_of(chao1_classic(counts))},
          {"chao1_classic_se", error_of(chao1_classic(counts))},
          {"chao1_classic_no_n_factor", value_of(uncorrected)},
          {"chao1_classic_no_n_factor_se", error_of(uncorrected)},
          {"ace", value_of(ace(counts))},
          {"ace_se", number(ace_error_as_vegan(counts))}};
}

Json chao1_interval(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  const auto met = met_once_and_twice(counts).value();
  const auto chao = chao1_classic(counts).value();
  const auto interval = lognormal_interval(met.observed, chao, in.at("confidence"));
  return {{"observed", met.observed},
          {"estimate", chao.value},
          {"se", chao.standard_error},
          {"lower", interval.lower},
          {"upper", interval.upper}};
}

Json richness_incidence(const Json& in, const Json&) {
  Presence presence;
  for (const auto& unit : in.at("presence")) {
    std::vector<bool> row;
    for (const auto& met : unit) row.push_back(met.is_boolean() ? met.get<bool>() : met != 0);
    presence.push_back(row);
  }
  const auto r = incidence_richness(presence).value();
  return {{"observed", r.observed},
          {"units", r.units},
          {"q1", r.unique},
          {"q2", r.duplicate},
          {"chao2", r.chao2.value},
          {"chao2_se", r.chao2.standard_error},
          {"chao2_no_t_factor", r.chao2_no_factor.value},
          {"chao2_no_t_factor_se", r.chao2_no_factor.standard_error},
          {"jackknife1", r.jackknife1.value},
          {"jackknife1_se", r.jackknife1.standard_error},
          {"jackknife2", r.jackknife2},
          {"bootstrap", r.bootstrap.value},
          {"bootstrap_se", r.bootstrap.standard_error}};
}

Json coverage(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  return {{"good_turing", number(coverage_good(counts))},
          {"chao_jost", number(coverage_chao_jost(counts))}};
}

Json curve(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  Json answer{{"types", Json::array()}, {"coverage", Json::array()}};
  for (const auto size : in.at("sizes").get<IntegerList>()) {
    const auto at = kinds_and_coverage_at(counts, size);
    answer["types"].push_back(shaped(at, [](const auto& a) { return a.kinds; }));
    answer["coverage"].push_back(shaped(at, [](const auto& a) { return a.coverage; }));
  }
  return answer;
}

Json further(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  Json answer{{"new_types", Json::array()}, {"coverage_after", Json::array()}};
  for (const double calls : in.at("further_calls").get<std::vector<double>>()) {
    answer["new_types"].push_back(number(expected_new_kinds(counts, calls)));
    answer["coverage_after"].push_back(number(coverage_after(counts, calls)));
  }
  return answer;
}

Json rarefaction(const Json& in, const Json&) {
  const auto counts = counts_of(in);
  Json answer{{"expected_types", Json::array()}, {"se", Json::array()}};
  for (const auto size : in.at("sample_sizes").get<IntegerList>()) {
    const auto kinds = rarefied_kinds(counts, size);
    answer["expected_types"].push_back(value_of(kinds));
    answer["se"].push_back(error_of(kinds));
  }
  return answer;
}

Json hill(const Json& in, const Json&) {
  return shaped(diversity(counts_of(in)), [](const Diversity& d) {
    return Json{{"q0", d.kinds},
                {"q1", d.common},
                {"q2", d.dominant},
                {"shannon_nats", d.shannon_nats},
                {"gini_simpson", d.gini_simpson}};
  });
}

Json hill_of_ground(const Json& in, const Json&) {
  return shaped(ground_diversity({counts_of(in)}, 0), [](const GroundDiversity& d) {
    return Json{{"q1", d.common.value}, {"q2", d.dominant.value}};
  });
}

Json rocks_needed(const Json& in, const Json&) {
  const double share = in.at("abundance");
  return shaped(rocks_to_meet(share, in.at("confidence")), [&](std::int64_t n) {
    return Json{{"n", n},
                {"prob_met_at_n", number(probability_met(share, n))},
                {"prob_met_at_n_minus_1", number(probability_met(share, n - 1))}};
  });
}

SizeScale scale_of(const Json& in) {
  const auto name = in.at("scale").get<std::string>();
  if (name == "wentworth") return SizeScale::wentworth;
  if (name == "iso14688-1") return SizeScale::iso_14688_1;
  throw std::invalid_argument("unknown size scale " + name);
}

void only_powers(const Json& in) {
  if (in.at("scale") != "powers1953") throw std::invalid_argument("unknown roundness scale");
}

Json class_table(const Json& in, const Json&) {
  Json classes = Json::array();
  for (const auto& each : size_classes(scale_of(in))) {
    classes.push_back({{"name", each.name},
                       {"lower", each.lower_mm},
                       {"upper", each.upper_mm ? Json(*each.upper_mm) : Json()}});
  }
  return {{"classes", classes}};
}

Json roundness_table(const Json& in, const Json&) {
  only_powers(in);
  Json classes = Json::array();
  for (const auto& each : roundness_classes()) {
    classes.push_back({{"name", each.name}, {"lower", each.lower}, {"upper", each.upper}});
  }
  return {{"classes", classes}};
}

Json sun(const Json& in, bool refracted) {
  const auto utc = protocol::parse_timestamp(in.at("utc").get<std::string>());
  if (!utc) throw std::invalid_argument("utc: " + utc.error().what);
  const auto position = sun_position(utc->instant, {in.at("latitude"), in.at("longitude")});
  Json answer{{"azimuth", position.azimuth}, {"elevation_true", position.elevation}};
  if (refracted) {
    const double seen =
        seen_elevation(position.elevation, in.at("pressure_mbar"), in.at("temperature_c"));
    answer["elevation_apparent"] = seen;
    answer["zenith_apparent"] = 90 - seen;
  }
  return answer;
}

Json direct(const Json& in, const Json&) {
  const auto end =
      walk({in.at("latitude"), in.at("longitude")}, in.at("bearing"), in.at("distance_m"));
  return {{"latitude", end.place.latitude},
          {"longitude", end.place.longitude},
          {"forward_azimuth_at_end", end.bearing}};
}

Json inverse(const Json& in, const Json&) {
  const auto line = line_between({in.at("latitude1"), in.at("longitude1")},
                                 {in.at("latitude2"), in.at("longitude2")});
  return {{"distance_m", line.distance_metres},
          {"azimuth_at_start", line.bearing_at_start},
          {"forward_azimuth_at_end", line.bearing_at_end}};
}

Json utm(const Json& in, const Json&) {
  const auto grid = map_grid({in.at("latitude"), in.at("longitude")});
  if (!grid) return Json();
  return {{"zone", grid->zone},
          {"hemisphere", grid->north ? "n" : "s"},
          {"easting_m", grid->easting_metres},
          {"northing_m", grid->northing_metres}};
}

using Answer = std::function<Json(const Json& input, const Json& expected)>;

const std::map<std::string, Answer>& answers() {
  static const std::map<std::string, Answer> by_quantity{
      {"wilson_interval", binomial<wilson>},
      {"clopper_pearson_interval", binomial<clopper_pearson>},
      {"jeffreys_interval", jeffreys_both},
      {"wilson_lower_one_sided",
       [](const Json& in, const Json&) {
         return Json{{"lower",
                      number(wilson_lower(in.at("k"), in.at("n"), in.at("confidence_one_sided")))}};
       }},
      {"zero_seen_upper_bound_one_sided_95",
       [](const Json& in, const Json&) {
         return Json{{"rule_of_three", number(rule_of_three(in.at("n")))},
                     {"exact", number(none_met_upper(in.at("n"), in.at("confidence_one_sided")))}};
       }},
      {"point_count_two_sigma_percent",
       [](const Json& in, const Json&) {
         return Json{{"two_sigma_percent",
                      number(point_count_two_sigma_percent(in.at("percent"), in.at("points")))}};
       }},
      {"goodman_simultaneous_intervals",
       [](const Json& in, const Json&) {
         return ends(goodman(counts_of(in), in.at("confidence")));
       }},
      {"sison_glaz_simultaneous_intervals",
       [](const Json& in, const Json&) {
         return ends(sison_glaz(counts_of(in), in.at("confidence")));
       }},
      {"dirichlet_posterior", dirichlet},
      {"shares_beside_one_spoken_kind", spoken_shares},
      {"shares_with_several_spoken_kinds", spoken_shares},
      {"caller_record", caller_record},
      {"same_ground", same_ground_of_two},
      {"patchiness_of_looks", patchiness_of_looks},
      {"next_is_new", next_new},
      {"gamma_poisson_rate_posterior", rate},
      {"gamma_poisson_predictive", forecast},
      {"sample_size_to_meet_at_least_once", rocks_needed},
      {"sample_size_no_type_of_at_least_f_missed",
       [](const Json& in, const Json&) {
         return shaped(rocks_to_miss_none(in.at("smallest_fraction"), in.at("miss_probability")),
                       [](std::int64_t n) {
                         return Json{{"n", n}};
                       });
       }},
      {"richness_abundance", richness_abundance},
      {"chao1_with_lognormal_interval", chao1_interval},
      {"richness_incidence", richness_incidence},
      {"sample_coverage", coverage},
      {"richness_and_coverage_at_size", curve},
      {"expected_new_types_in_further_calls", further},
      {"rarefaction", rarefaction},
      {"hill_numbers", hill},
      {"hill_numbers_of_the_ground", hill_of_ground},
      {"size_class_table_mm", class_table},
      {"size_class",
       [](const Json& in, const Json&) {
         const auto found = size_class(scale_of(in), in.at("diameter_mm"));
         return Json{{"class", found ? Json(found->name) : Json()}};
       }},
      {"phi_from_mm",
       [](const Json& in, const Json&) {
         const auto found = phi(in.at("diameter_mm"));
         return Json{{"phi", found ? Json(*found) : Json()}};
       }},
      {"roundness_class_table", roundness_table},
      {"roundness_class",
       [](const Json& in, const Json&) {
         only_powers(in);
         const auto found = roundness_class(in.at("roundness"));
         return Json{{"class", found ? Json(found->name) : Json()}};
       }},
      {"sun_position", [](const Json& in, const Json&) { return sun(in, false); }},
      {"sun_position_refracted", [](const Json& in, const Json&) { return sun(in, true); }},
      {"geodesic_direct_wgs84", direct},
      {"geodesic_inverse_wgs84", inverse},
      {"utm_from_geographic_wgs84", utm},
  };
  return by_quantity;
}

// --- comparing ---

bool is_angle(const std::string& name) {
  return name.find("azimuth") != std::string::npos || name.find("bearing") != std::string::npos ||
         name.find("longitude") != std::string::npos;
}

class Comparison {
 public:
  explicit Comparison(bool relative) : relative_(relative) {}

  void compare(const Json& ours, const Json& expected, const Json& tolerance,
               const std::string& at) {
    if (expected.is_null()) {
      // Free, but what a person would see must be a number or words.
      if (ours.is_number() && !std::isfinite(ours.get<double>())) report(at, ours, expected);
    } else if (expected.is_object()) {
      for (const auto& [name, value] : expected.items()) {
        if (!ours.is_object() || !ours.contains(name)) {
          differences_ += at + "." + name + ": we do not answer; ";
          continue;
        }
        compare(ours[name], value, tolerance_for(tolerance, name), at + "." + name);
      }
    } else if (expected.is_array()) {
      if (!ours.is_array() || ours.size() != expected.size()) return report(at, ours, expected);
      for (std::size_t i = 0; i < expected.size(); ++i) {
        const auto& each = tolerance.is_array() ? tolerance.at(i) : tolerance;
        compare(ours[i], expected[i], each, at + "[" + std::to_string(i) + "]");
      }
    } else if (expected.is_number()) {
      const bool same = ours.is_number() && (close(ours, expected, tolerance, is_angle(at)) ||
                                             both_are_no_error(ours, expected, at));
      if (!same) report(at, ours, expected);
    } else if (ours != expected) {
      report(at, ours, expected);
    }
  }

  const std::string& differences() const { return differences_; }

 private:
  // A number holds for everything below it; of an object, what it does not name is exact.
  static Json tolerance_for(const Json& tolerance, const std::string& name) {
    if (!tolerance.is_object()) return tolerance;
    return tolerance.value(name, Json(0));
  }

  bool close(double ours, double expected, const Json& tolerance, bool angle) const {
    const double allowed = tolerance.is_number() ? tolerance.get<double>() : 0;
    const double difference =
        angle ? std::abs(std::remainder(ours - expected, 360.0)) : std::abs(ours - expected);
    const double scale = relative_ && expected != 0 ? std::abs(expected) : 1;
    return difference <= allowed * scale;  // false for NaN
  }

  // A standard error is the root of a difference that should vanish, e.g. for one rock, which is
  // always of one kind; sources print what rounding left of it, up to 4e-6.
  static bool both_are_no_error(double ours, double expected, const std::string& at) {
    const bool standard_error = at.find("se[") != std::string::npos || at.ends_with("se");
    return standard_error && std::abs(ours) < 1e-5 && std::abs(expected) < 1e-5;
  }

  void report(const std::string& at, const Json& ours, const Json& expected) {
    std::ostringstream text;
    text.precision(17);
    text << at << ": ours " << ours << ", expected " << expected << "; ";
    differences_ += text.str();
  }

  bool relative_;
  std::string differences_;
};

}  // namespace

std::string check_reference_case(const Json& reference) try {
  const auto quantity = reference.at("quantity").get<std::string>();
  const auto answer = answers().find(quantity);
  if (answer == answers().end()) return "unknown quantity; ";
  const auto& expected = reference.at("expected");
  Comparison comparison(reference.value("tolerance_kind", "absolute") == "relative");
  comparison.compare(answer->second(reference.at("input"), expected), expected,
                     reference.value("tolerance", Json(0)), "expected");
  return comparison.differences();
} catch (const std::exception& wrong) {
  return std::string("the case cannot be read: ") + wrong.what() + "; ";
}

ReferenceReport check_reference_folder(const std::filesystem::path& folder) {
  ReferenceReport report;
  std::error_code missing;
  std::vector<std::filesystem::path> files;
  for (const auto& entry : std::filesystem::directory_iterator(folder, missing)) {
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  if (files.empty()) report.problems.push_back("no reference values in " + folder.string());
  for (const auto& file : files) {
    const auto name = file.filename().string();
    std::ifstream stream(file);
    const auto cases = Json::parse(stream, nullptr, false);
    if (!cases.is_array() || cases.empty()) {
      report.problems.push_back(name + ": not a list of cases");
      continue;
    }
    for (const auto& reference : cases) {
      ++report.cases;
      const auto difference = check_reference_case(reference);
      if (difference.empty()) continue;
      const auto text = [&](const char* member) {
        return reference.is_object() ? reference.value(member, "(no " + std::string(member) + ")")
                                     : "(no " + std::string(member) + ")";
      };
      report.problems.push_back(name + ", " + text("id") + ", " + text("quantity") + ": " +
                                difference + "source: " + text("source"));
    }
  }
  return report;
}

std::filesystem::path reference_folder() {
  const char* other = std::getenv("STONECALL_REFERENCE_VALUES");
  return other != nullptr && *other != '\0' ? other : STONECALL_REFERENCE_VALUES_DEFAULT;
}

}  // namespace stonecall::estimate
