#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "protocol/time.hpp"

namespace stonecall::protocol {

using Json = nlohmann::ordered_json;

/// WGS-84, degrees; height in metres above the ellipsoid or the map's datum, if known.
struct Position {
  double latitude = 0;   ///< −90 … 90
  double longitude = 0;  ///< −180 … 180
  std::optional<double> height_metres;

  bool operator==(const Position&) const = default;
};

/// A range in percent, as people say it; 0 ≤ low ≤ high ≤ 100.
struct PercentRange {
  double low = 0;
  double high = 100;

  bool operator==(const PercentRange&) const = default;
};

struct Base {
  std::string station;
  Position position;
  std::vector<std::string> spoken;

  bool operator==(const Base&) const = default;
};

struct ExpectedShare {
  std::string rock;
  double percent = 0;

  bool operator==(const ExpectedShare&) const = default;
};

struct PlannedStation {
  std::string station;
  Position position;
  double allotted_minutes = 0;
  std::optional<double> arrive_minutes;  ///< planned, from the start of the exercise
  std::vector<std::string> spoken;
  std::vector<ExpectedShare> expected;
  double sureness = 10;  ///< counted rocks that the expectation is worth
  std::string why;
  std::vector<Position> way;   ///< points walked through on the way from the stop before
  std::vector<Position> back;  ///< points walked through on the way from here straight back to base

  bool operator==(const PlannedStation&) const = default;
};

struct WantedKind {
  std::string rock;
  int number = 1;
  double weight = 1;    ///< worth of the first
  double repeat = 0.5;  ///< worth of each further one, as a part of the one before

  bool operator==(const WantedKind&) const = default;
};

enum class View { stereo_pair, stereo_left, stereo_right, down_sun, after };
/// What only a person standing there can tell, and what else a description may be asked to hold.
enum class Description {
  buried,
  picked,
  relation,
  like_it,
  size,
  shape,
  colour,
  texture,
  description
};

/// What a fully documented sample needs. The default is common practice, no source.
struct Documentation {
  std::vector<View> views{View::stereo_pair, View::down_sun, View::after};
  bool bag = true;
  bool tie = true;
  std::vector<Description> describes{Description::buried, Description::picked,
                                     Description::relation, Description::like_it};

  bool operator==(const Documentation&) const = default;
};

struct Walking {
  double speed_kmh = 3;
  double margin_percent = 20;
  bool use_heights = false;  ///< Tobler's hiking function instead of one speed

  bool operator==(const Walking&) const = default;
};

struct Link {
  double delay_seconds = 0;  ///< one way
  double reaction_minutes = 3;

  bool operator==(const Link&) const = default;
};

/// What is expected of a party before its own record says better.
struct Pace {
  double looks_per_minute = 2;   ///< rocks looked at
  double handling_minutes = 4;   ///< per documented sample
  double sureness_minutes = 20;  ///< minutes of looking the first figure is worth
  double sureness_samples = 3;   ///< samples the second is worth

  bool operator==(const Pace&) const = default;
};

enum class Side { field, back_room };

struct Person {
  std::string name;
  Side role = Side::field;
  double spread_percent = 10;  ///< scatter (one standard deviation) of this caller's spoken shares

  bool operator==(const Person&) const = default;
};

struct RockKind {
  std::string rock;
  std::vector<std::string> spoken;

  bool operator==(const RockKind&) const = default;
};

/// Settings of the method; the meaning of each is in FORMAT.md.
struct Method {
  double prior_each = 0.5;
  double typical_percent = 25;
  double rare_percent = 5;
  double confident = 0.7;
  int draws = 500;
  int seed = 1;
  double sun_tolerance_degrees = 30;

  bool operator==(const Method&) const = default;
};

struct Plan {
  std::string name;
  std::string place;
  std::string notes;
  Timestamp start;
  double duration_minutes = 150;
  Base base;
  std::vector<PlannedStation> stations;
  std::vector<WantedKind> wanted;
  double new_kind_weight = 0.5;
  Documentation documentation;
  Walking walking;
  Link link;
  Pace pace;
  std::vector<Person> people;
  std::vector<RockKind> vocabulary;
  Method method;
  Json unknown;  ///< an object of members we do not know, kept; null: none

  bool operator==(const Plan&) const = default;
};

/// Reads a plan object. The fault names the first member that is wrong and its limit. Also checked:
/// stations and rocks named once, expected and wanted rocks listed in the vocabulary, expected
/// shares within 100 %.
Result<Plan> plan_from_json(const Json& json);

/// Reads the text of a plan file; a syntax fault names the line.
Result<Plan> parse_plan(std::string_view text);

Json to_json(const Plan& plan);

std::string_view to_string(View view);
std::string_view to_string(Description description);

}  // namespace stonecall::protocol
