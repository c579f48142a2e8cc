#include "console/estimate/calculator.hpp"

#include <cmath>
#include <random>
#include <string>

#include <catch2/catch.hpp>

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using protocol::Json;

Json answer(const char* request) {
  return calculate(Json::parse(request)).value();
}

std::string fault(const std::string& request) {
  const auto result = calculate(Json::parse(request));
  if (result) return "answered";
  return result.error().member + ": " + result.error().what;
}

// Every number below is finite; JSON cannot hold another, and would silently print null.
bool finite(const Json& json) {
  if (json.is_number()) return std::isfinite(json.get<double>());
  if (json.is_null()) return false;
  if (json.is_structured()) {
    for (const auto& each : json) {
      if (!finite(each)) return false;
    }
  }
  return true;
}

}  // namespace

TEST_CASE("Counts alone get every figure of the ground") {
  // Figures for the spider counts printed in Chao et al. 2014, Ecological Monographs 84:45-67.
  const auto found = answer(R"({"counts":[46,22,17,15,15,9,8,6,6,4,2,2,2,2,1,1,1,1,1,1,1,1,1,1,1,1],
                               "further":[168], "sizes":[50,336]})");
  CHECK(found["basis"]["sentence"] == "rests on 168 counted in 1 look");
  CHECK_THAT(found["unseen"]["chao1_classic"]["estimate"].get<double>(), WithinAbs(43.893, 0.001));
  CHECK_THAT(found["further"][0]["new_kinds"].get<double>(), WithinAbs(8.730733, 1e-6));
  CHECK_THAT(found["sizes"][1]["kinds"].get<double>(), WithinAbs(34.730733, 1e-6));
  CHECK(found["sizes"][1]["rarefied"] == "no basis: beyond what was counted");
  CHECK(found["kinds"].size() == 26);
  CHECK(found["looks_as_units"] == "no basis: needs two looks or more");
}

TEST_CASE("Looks that disagree widen the shares, and spoken shares join them") {
  const auto found = answer(R"({"looks":[[9,1,0],[2,7,1],[5,4,1]], "chosen":4,
      "shares":[{"kind":0,"percent":[40,60]},{"kind":1,"percent":[85,95],"spread_percent":5}]})");
  CHECK(found["basis"]["design_effect"].get<double>() > 1);
  CHECK(found["basis"]["sentence"] ==
        "rests on 30 counted in 3 looks and 2 spoken shares; 4 chosen samples not used");
  CHECK(found["disagreements"].size() == 1);
  CHECK(found["disagreements"][0]["share"] == 1);
  CHECK(found["looks_as_units"]["looks"] == 3);
}

TEST_CASE("Rocks of no named kind do not count as a kind met") {
  const auto found = answer(R"({"counts":[5,3,1],"other_last":true})");
  CHECK(found["unseen"]["kinds_met"] == 2);
  CHECK(found["kinds"].size() == 3);
}

TEST_CASE("Nothing counted is answered in words") {
  const auto found = answer(R"({"counts":[0,0]})");
  CHECK(found["unseen"]["next_is_new"] == "no basis: nothing counted without choosing");
  CHECK(found["kinds"][0]["mean"] == 0.5);
}

TEST_CASE("Each other question has its answer") {
  CHECK_THAT(
      answer(R"({"kind":{"met":7,"counted":10},"confidence":0.95})")["kind"]["wilson"]["lower"]
          .get<double>(),
      WithinAbs(0.39678, 1e-5));
  CHECK(answer(R"({"meet":{"share":0.05,"confidence":0.95}})")["meet"]["rocks"] == 59);
  CHECK(answer(R"({"miss_none":{"smallest_share":0.05}})")["miss_none"]["rocks"] == 117);
  CHECK(answer(R"({"pace":{"events":7,"minutes":20}})")["pace"]["per_minute"]["mean"] == 0.375);
  CHECK_THAT(answer(R"({"same_ground":[[1,0],[1,0]],"prior_each":1})")["same_ground"]["probability"]
                 .get<double>(),
             WithinAbs(4.0 / 7, 1e-12));
  CHECK(answer(R"({"caller":{"pairs":[{"spoken_percent":80,"met":12,"counted":40}]}})")["caller"]
                                                                                       ["bias"] >
        0);
  CHECK(answer(R"({"size_mm":35})")["size_mm"]["wentworth"] == "pebble");
  CHECK(answer(R"({"roundness":0.3})")["roundness"] == "subangular");
}

TEST_CASE("A request that cannot be read is told which member is wrong, and how") {
  CHECK(fault("{}").find("asks nothing") != std::string::npos);
  CHECK(fault("[1,2]") == ": must be an object");
  CHECK(fault(R"({"count":[1]})") == "count: is not known here");
  CHECK(fault(R"({"counts":[1,-2]})") == "counts[1]: must be a whole number from 0 to 1000000000");
  CHECK(fault(R"({"counts":[1.5]})") == "counts[0]: must be a whole number from 0 to 1000000000");
  CHECK(fault(R"({"counts":[1e300]})") == "counts[0]: must be a whole number from 0 to 1000000000");
  CHECK(fault(R"({"counts":"ten"})") == "counts: must be a list of 1 to 500 counts");
  CHECK(fault(R"({"looks":[[1,2],[3]]})") == "looks[1]: must be as long as the first look");
  CHECK(fault(R"({"looks":[[1]],"counts":[1]})") == "counts: give counts or looks, not both");
  CHECK(fault(R"({"counts":[1],"confidence":1})") ==
        "confidence: must be a number from 1e-09 to 0.999999999");
  CHECK(fault(R"({"counts":[1,2],"shares":[{"kind":2,"percent":[1,2]}]})") ==
        "shares[0].kind: is not one of the kinds counted");
  CHECK(fault(R"({"counts":[1,2],"shares":[{"kind":0,"percent":[30,20]}]})") ==
        "shares[0].percent: must not fall");
  CHECK(fault(R"({"kind":{"met":3}})") == "kind.counted: missing");
  CHECK(fault(R"({"kind":{"met":3,"counted":2}})") == "kind.met: must not be above counted");
  CHECK(fault(R"({"same_ground":[[1,2]]})") == "same_ground: must be the counts at two stations");
  CHECK(fault(R"({"same_ground":[[1,2],[1]]})") == "same_ground: must have the same kinds twice");
  CHECK(fault(R"({"caller":{"pairs":[{"spoken_percent":20,"met":0,"counted":0}]}})") ==
        "caller.pairs[0].counted: must be at least 1");
}

TEST_CASE("No request, however odd, is answered with what is not a number or with an exception") {
  std::mt19937_64 generator(2027);
  const auto below = [&](std::uint64_t n) { return generator() % n; };
  const auto number = [&]() -> Json {
    switch (below(8)) {
      case 0:
        return 0;
      case 1:
        return 1;
      case 2:
        return 1'000'000'000;
      case 3:
        return -1;
      case 4:
        return 0.3;
      case 5:
        return 1e-7;
      case 6:
        return "x";
      default:
        return below(60);
    }
  };
  const auto count = [&]() -> Json {
    return below(40) == 0 ? number() : Json(below(5) == 0 ? below(1'000'000'000) : below(4));
  };
  const auto row = [&](std::uint64_t size) {
    Json list = Json::array();
    for (std::uint64_t i = 0; i < size; ++i) list.push_back(count());
    return list;
  };
  int answered = 0;
  for (int round = 0; round < 250; ++round) {
    Json request = Json::object();
    const auto kinds = 1 + below(5);
    if (below(2) == 0) request["counts"] = row(kinds);
    if (request.empty() && below(2) == 0)
      request["looks"] = Json::array({row(kinds), row(kinds), row(kinds)});
    if (below(3) == 0) {
      request["shares"] = Json::array();
      for (auto i = below(4); i > 0; --i) {
        const auto low = below(101);
        request["shares"].push_back(
            {{"kind", below(kinds)},
             {"percent", {low, low + below(101 - low)}},
             {"spread_percent", 0.1 + static_cast<double>(below(1000)) / 10},
             {"bias_percent", static_cast<double>(below(50)) - 25}});
      }
    }
    if (below(4) == 0) request["other_last"] = true;
    if (below(3) == 0) request["kind"] = {{"met", count()}, {"counted", count()}};
    if (below(3) == 0) request["meet"] = {{"share", number()}, {"confidence", number()}};
    if (below(3) == 0)
      request["miss_none"] = {{"smallest_share", number()}, {"miss_probability", number()}};
    if (below(3) == 0) {
      request["pace"] = {{"events", count()},
                         {"minutes", count()},
                         {"prior_events", count()},
                         {"prior_minutes", count()},
                         {"further_minutes", below(1'000'000)}};
    }
    if (below(3) == 0) request["same_ground"] = Json::array({row(kinds), row(kinds)});
    if (below(3) == 0) request["size_mm"] = number();
    if (below(3) == 0) request["roundness"] = number();
    if (below(6) == 0) request["confidence"] = 1 - std::pow(10.0, -static_cast<double>(below(10)));
    INFO(request.dump());
    const auto result = calculate(request);
    answered += result.has_value();
    if (result) CHECK(finite(*result));
  }
  CHECK(answered > 60);
}

}  // namespace stonecall::estimate
