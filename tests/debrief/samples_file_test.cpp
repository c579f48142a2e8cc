#include "console/debrief/samples_file.hpp"

#include <catch2/catch.hpp>

#include "console/picture/fold.hpp"
#include "tests/debrief/exercise.hpp"

using namespace stonecall;
using namespace stonecall::test;

namespace {

picture::PicturePtr with(protocol::SampleTaken taken) {
  Exercise exercise;
  exercise.say(10, protocol::Arrival{"Ford"});
  exercise.say(12, std::move(taken));
  return picture::fold(exercise.events());
}

protocol::Json only_feature(const picture::Picture& picture) {
  const auto json = protocol::Json::parse(debrief::samples_geojson(picture));
  REQUIRE(json["features"].size() == 1);
  return json["features"][0];
}

}  // namespace

// RFC 4180, section 2, rules 1, 3, 6 and 7.
TEST_CASE("lines of the CSV end in CR LF, the first names the columns") {
  const auto csv = debrief::samples_csv(*with(sample("1", "gneiss")));
  CHECK(csv.starts_with("number,bag,rock,station,first_word,elapsed,chosen,"));
  CHECK(std::ranges::count(csv, '\n') == 2);
  CHECK(csv.ends_with("\r\n"));
  CHECK(csv.find("\r\n1,,gneiss,Ford,2027-05-18T09:12:00.000+02:00,0:12:00,yes,") !=
        std::string::npos);
}

TEST_CASE("commas, quotes and line breaks in what was said stay inside their field") {
  auto taken = sample("1", "gneiss");
  taken.picked = "odd, \"banded\"\nand heavy";
  const auto csv = debrief::samples_csv(*with(taken));
  CHECK(csv.find(",\"odd, \"\"banded\"\"\nand heavy\",") != std::string::npos);
}

TEST_CASE("figures in the CSV are those that were said, to the last place") {
  auto taken = sample("1", "gneiss");
  taken.place = protocol::Position{46.5, 8.25, 1234.567};
  taken.tie = protocol::Tie{{}, 271.23456, 12345.678};
  taken.size_mm = 1'000'000;
  const auto csv = debrief::samples_csv(*with(taken));
  CHECK(csv.find(",1234.567,stated,BASE,271.23456,12345.678,1000000,") != std::string::npos);
}

TEST_CASE("without a plan times are those of the place by the log itself, not by Greenwich") {
  const std::vector<EventPtr> events{shared(1, 10, protocol::Arrival{"Ford"}),
                                     shared(2, 12, sample("1", "gneiss"))};
  const auto picture = picture::fold(events);
  const std::string local = "2027-05-18T09:12:00.000+02:00";
  CHECK(debrief::samples_csv(*picture).find(local) != std::string::npos);
  CHECK(only_feature(*picture)["properties"]["first_word"] == local);
  CHECK(debrief::look_back({"bare.jsonl", events, {}}).offset == std::chrono::minutes(120));
}

TEST_CASE("an exercise without samples gives a heading line and an empty collection") {
  const auto picture = picture::fold(Exercise().events());
  CHECK(std::ranges::count(debrief::samples_csv(*picture), '\n') == 1);
  const auto json = protocol::Json::parse(debrief::samples_geojson(*picture));
  CHECK(json["type"] == "FeatureCollection");
  CHECK(json["features"].empty());
}

// RFC 7946, sections 3.1.1 (longitude first) and 3.2 (null where there is no place).
TEST_CASE("a stated place is a point with the longitude first") {
  auto taken = sample("1", "gneiss");
  taken.place = protocol::Position{46.5, 8.25, 512.0};
  const auto feature = only_feature(*with(taken));
  CHECK(feature["geometry"] ==
        protocol::Json({{"type", "Point"}, {"coordinates", {8.25, 46.5, 512.0}}}));
  CHECK(feature["properties"]["place_from"] == "stated");
}

TEST_CASE("a sample that nobody placed has no geometry, not its station's") {
  const auto feature = only_feature(*with(sample("1", "gneiss")));
  CHECK(feature["geometry"].is_null());
  CHECK(feature["properties"]["station"] == "Ford");
}

TEST_CASE("a tie is followed from the base, or from the place it names") {
  // A degree of latitude on WGS-84 at 46 degrees is 111.15 km (from memory).
  auto taken = sample("1", "gneiss");
  taken.tie = protocol::Tie{{}, 0, 1000};
  auto at = only_feature(*with(taken))["geometry"]["coordinates"];
  CHECK(at[0].get<double>() == Approx(8.0).margin(1e-7));
  CHECK(at[1].get<double>() == Approx(46.0 + 1 / 111.15).margin(1e-6));

  taken.tie = protocol::Tie{"Ford", 180, 100};
  at = only_feature(*with(taken))["geometry"]["coordinates"];
  CHECK(at[1].get<double>() == Approx(46.0045 - 0.1 / 111.15).margin(1e-6));

  taken.tie = protocol::Tie{"a cairn", 180, 100};
  CHECK(only_feature(*with(taken))["geometry"].is_null());
}

TEST_CASE("an unselective sample is marked as not chosen in both files") {
  auto taken = sample("1", "gneiss");
  taken.unselective = true;
  const auto picture = with(taken);
  CHECK(debrief::samples_csv(*picture).find(",0:12:00,no,") != std::string::npos);
  CHECK(only_feature(*picture)["properties"]["chosen"] == false);
}
