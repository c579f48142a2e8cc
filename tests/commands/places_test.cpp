#include "console/commands/places.hpp"

#include <catch2/catch.hpp>

using namespace stonecall;
using namespace stonecall::commands;
using protocol::Position;

namespace {

protocol::Timestamp start() {
  return *protocol::parse_timestamp("2027-06-09T08:30:00.000+04:00");
}

}  // namespace

TEST_CASE("points of GeoJSON become places; longitude stands first") {
  // The feature collection of RFC 7946, section 1.5 (from memory), with a name and a height added.
  const auto places = places_from_geojson(R"({
    "type": "FeatureCollection",
    "features": [
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [102.0, 0.5, 31]},
       "properties": {"name": "Bench"}},
      {"type": "Feature",
       "geometry": {"type": "LineString",
                    "coordinates": [[102.0, 0.0], [103.0, 1.0], [104.0, 0.0], [105.0, 1.0]]},
       "properties": {"prop0": "value0", "prop1": 0.0}},
      {"type": "Feature", "geometry": null, "properties": null},
      {"type": "Feature", "geometry": {"type": "Point", "coordinates": [-9.25, 53.5]},
       "properties": null}]})");
  REQUIRE(places);
  CHECK(*places == std::vector<Place>{{"Bench", Position{0.5, 102.0, 31.0}},
                                      {"stop 2", Position{53.5, -9.25, {}}}});
}

TEST_CASE("a single feature or a bare point will do") {
  CHECK(places_from_geojson(R"({"type":"Point","coordinates":[8,46]})")->size() == 1);
  CHECK(
      places_from_geojson(
          R"({"type":"Feature","properties":{"name":"Gap"},"geometry":{"type":"Point","coordinates":[8,46]}})")
          ->front()
          .name == "Gap");
}

TEST_CASE("what is no GeoJSON with points says what is wrong") {
  for (const char* text :
       {"{", "[]", "{}", R"({"type":"FeatureCollection"})",
        R"({"type":"FeatureCollection","features":[]})", R"({"type":"Point","coordinates":[8]})",
        R"({"type":"Point","coordinates":["8","46"]})",
        R"({"type":"Point","coordinates":[46,108]})"}) {
    CAPTURE(text);
    const auto places = places_from_geojson(text);
    REQUIRE_FALSE(places);
    CHECK_FALSE(places.error().what.empty());
  }
}

TEST_CASE("waypoints of GPX become places with their names and heights") {
  // Elements and attributes as in the GPX 1.1 schema: wpt with lat and lon, ele, name.
  const auto places = places_from_gpx(R"(<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">
  <wpt lat="46.2052" lon="8.1043"><ele>1275.5</ele><name> Upper &amp; lower bench </name></wpt>
  <wpt lat="-46.2" lon="-8.1"/>
  <wpt lat="46.3" lon="8.2"><name>Upper &amp; lower bench</name></wpt>
  <trk><trkseg><trkpt lat="1" lon="1"/></trkseg></trk>
</gpx>)");
  REQUIRE(places);
  CHECK(*places == std::vector<Place>{{"Upper & lower bench", Position{46.2052, 8.1043, 1275.5}},
                                      {"stop 2", Position{-46.2, -8.1, {}}},
                                      {"Upper & lower bench 2", Position{46.3, 8.2, {}}}});
}

TEST_CASE("without waypoints the points of a route serve") {
  const auto places = places_from_gpx(
      R"(<gpx version="1.1"><rte><rtept lat="1" lon="2"><name>A</name></rtept><rtept lat="3" lon="4"/></rte></gpx>)");
  REQUIRE(places);
  CHECK(places->size() == 2);
  CHECK(places->front() == Place{"A", Position{1, 2, {}}});
}

TEST_CASE("broken XML is named by its line, and other files by what they are") {
  const auto torn =
      places_from_gpx("<gpx version=\"1.1\">\n<wpt lat=\"1\" lon=\"2\">\n<name>A</nam");
  REQUIRE_FALSE(torn);
  CHECK(torn.error().line == 3U);
  CHECK_FALSE(places_from_gpx("<kml/>"));
  CHECK_FALSE(places_from_gpx("<gpx version=\"1.0\"><wpt lat=\"1\" lon=\"2\"/></gpx>"));
  CHECK_FALSE(places_from_gpx("<gpx version=\"1.1\"><wpt lat=\"91\" lon=\"2\"/></gpx>"));
  CHECK_FALSE(places_from_gpx("<gpx version=\"1.1\"><wpt lat=\"1\"/></gpx>"));
  CHECK_FALSE(places_from_gpx("<gpx version=\"1.1\"></gpx>"));
}

TEST_CASE("the two are told apart by how they begin") {
  CHECK(places_from("\xEF\xBB\xBF \n<gpx version=\"1.1\"><wpt lat=\"1\" lon=\"2\"/></gpx>"));
  CHECK(places_from(R"( {"type":"Point","coordinates":[8,46]})"));
  CHECK_FALSE(places_from(" \n"));
}

TEST_CASE("a starter plan is a plan that reads back, with the base taken out of the stations") {
  for (const auto& places :
       {std::vector<Place>{}, std::vector<Place>{{"one", {46, 8, {}}}},
        std::vector<Place>{
            {"one", {46, 8, {}}}, {"Camp", {46.01, 8, {}}}, {"two", {46.02, 8, {}}}}}) {
    const auto plan = starter_plan(places, "Larch Hollow", start());
    const auto read = protocol::plan_from_json(protocol::to_json(plan));
    REQUIRE(read);
    CHECK(*read == plan);
    for (const auto& station : plan.stations) CHECK(station.station != plan.base.station);
  }
  const auto plan = starter_plan({{"one", {46, 8, {}}}, {"Camp", {46.01, 8, {}}}}, "x", start());
  CHECK(plan.base.station == "Camp");
  REQUIRE(plan.stations.size() == 1);
  CHECK(plan.stations[0].station == "one");
}

TEST_CASE("a name in GPX that is not UTF-8 is a fault that says which") {
  const auto places = places_from_gpx(
      "<gpx version=\"1.1\"><wpt lat=\"46.1\" lon=\"8.2\"><name>\xBE\xBEse</name></wpt></gpx>");
  REQUIRE_FALSE(places);
  CHECK(places.error().what.find("point 1 is not UTF-8") != std::string::npos);
}
