#include "console/commands/places.hpp"

#include <catch2/catch.hpp>

#include "console/commands/read_file.hpp"
#include "protocol/plan_file.hpp"

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

TEST_CASE("the points of a MultiPoint become places, numbered where they share a name") {
  const auto places =
      places_from_geojson(R"({"type": "FeatureCollection", "crs": null, "features": [
    {"type": "Feature", "id": 7, "properties": {"name": "Pair", "n": 1},
     "geometry": {"type": "MultiPoint", "coordinates": [[8, 46], [8.01, 46.01, 900]]}},
    {"type": "Feature", "properties": {"name": 17},
     "geometry": {"type": "Point", "coordinates": [8.02, 46.02, null, 99]}}]})");
  REQUIRE(places);
  CHECK(*places == std::vector<Place>{{"Pair", Position{46, 8, {}}},
                                      {"Pair 2", Position{46.01, 8.01, 900.0}},
                                      {"17", Position{46.02, 8.02, {}}}});
  CHECK(places_from(R"({"type": "MultiPoint", "coordinates": [[8, 46], [8.1, 46]]})")->size() == 2);
}

TEST_CASE("lines, areas and tracks are no stations, and the fault says what to mark") {
  const auto what = [](const char* text) {
    const auto places = places_from(text);
    REQUIRE_FALSE(places);
    return places.error().what;
  };
  using Catch::Contains;
  CHECK_THAT(what(R"({"type": "LineString", "coordinates": [[8, 46], [9, 47]]})"),
             Contains("only LineString") && Contains("as a point"));
  CHECK_THAT(what(R"({"type": "Polygon", "coordinates": [[[8, 46], [9, 47], [9, 46], [8, 46]]]})"),
             Contains("only Polygon"));
  CHECK_THAT(
      what(R"(<gpx version="1.1"><trk><trkseg><trkpt lat="1" lon="1"/></trkseg></trk></gpx>)"),
      Contains("only with a track") && Contains("as a waypoint"));
  CHECK_THAT(what(R"(<gpx version="1.0"><wpt lat="1" lon="1"/></gpx>)"),
             Contains("export it as GPX 1.1"));
  CHECK_THAT(what("<kml/>"), Contains("<kml>") && Contains("GPX 1.1 or GeoJSON"));
  CHECK_THAT(what("name,lat,lon\nA,1,2\n"), Contains("neither GPX") && Contains("nor GeoJSON"));
}

TEST_CASE("a point that is none is named by its number, its name and its line") {
  using Catch::Contains;
  const auto wide = places_from(R"({"type": "FeatureCollection", "features": [
    {"type": "Feature", "properties": {"name": "A"}, "geometry": {"type": "Point", "coordinates": [8, 46]}},
    {"type": "Feature", "properties": {"name": "B"}, "geometry": {"type": "Point", "coordinates": [46, 108]}}]})");
  REQUIRE_FALSE(wide);
  CHECK_THAT(wide.error().what, Contains("point 2, \"B\"") && Contains("[46,108]") &&
                                    Contains("longitude stands first"));
  const auto comma = places_from(
      "<gpx version=\"1.1\">\n<wpt lat=\"1\" lon=\"2\"/>\n"
      "<wpt lat=\"64,1\" lon=\"2\"><name>Ford</name></wpt></gpx>");
  REQUIRE_FALSE(comma);
  CHECK_THAT(comma.error().what, Contains("point 2, \"Ford\"") && Contains("\"64,1\" as its lat"));
  CHECK(comma.error().line == 3U);
}

TEST_CASE("GPX is read whatever prefix, space, sign and encoding its writer chose") {
  const auto prefixed = places_from(
      R"(<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" version="1.1">
        <g:wpt lat="+64.101" lon=" -19.21 "><g:ele> 410.5 </g:ele><g:name><![CDATA[Red <Cleft>]]></g:name></g:wpt></g:gpx>)");
  REQUIRE(prefixed);
  CHECK(*prefixed == std::vector<Place>{{"Red <Cleft>", Position{64.101, -19.21, 410.5}}});

  const std::string text =
      R"(<?xml version="1.0" encoding="UTF-16"?><gpx version="1.1"><wpt lat="1" lon="2"><name>Ford</name></wpt></gpx>)";
  std::string wide = "\xFF\xFE";
  for (const char c : text) wide += {c, '\0'};
  REQUIRE(places_from(wide));
  CHECK(places_from(wide)->front().name == "Ford");

  const auto western = places_from(
      "<?xml version=\"1.0\" encoding=\"windows-1252\"?><gpx version=\"1.1\">"
      "<wpt lat=\"1\" lon=\"2\"><name>H\xFCtte</name></wpt></gpx>");
  REQUIRE_FALSE(western);
  CHECK_THAT(western.error().what, Catch::Contains("save the file as UTF-8"));
}

TEST_CASE("whatever names and heights the points carry, the plan begun with them holds") {
  const std::string long_name = [] {
    std::string name;
    for (int i = 0; i < 60; ++i) name += "ä";  // 120 bytes
    return name;
  }();
  const auto places = places_from(
      "<gpx version=\"1.1\"><wpt lat=\"64\" lon=\"-19\"><ele>-99999</ele><name> a\n\tb "
      "</name></wpt>"
      "<wpt lat=\"64\" lon=\"-19\"><ele>none</ele><name>" +
      long_name +
      "</name></wpt>"
      "<wpt lat=\"64\" lon=\"-19\"><name>" +
      long_name +
      "</name></wpt>"
      "<wpt lat=\"64\" lon=\"-19\"><name>stop 4</name></wpt>"
      "<wpt lat=\"64\" lon=\"-19\"/><wpt lat=\"64\" lon=\"-19\"><name>stop 5</name></wpt></gpx>");
  REQUIRE(places);
  REQUIRE(places->size() == 6);
  CHECK(places->front() == Place{"a b", Position{64, -19, {}}});
  CHECK((*places)[1].name == long_name.substr(0, 80));
  CHECK((*places)[2].name == long_name.substr(0, 78) + " 2");
  CHECK((*places)[4].name == "stop 5");
  CHECK((*places)[5].name == "stop 5 2");
  const auto plan = starter_plan(*places, "Larch Hollow", start());
  CHECK(protocol::read_plan(protocol::to_json(plan).dump(2)).faults.empty());
}

TEST_CASE("of a plan begun it is told what stands in it and what has no room") {
  const auto told = [](std::size_t places) {
    std::vector<Place> list;
    for (std::size_t i = 0; i < places; ++i) list.push_back({std::to_string(i), {46, 8, {}}});
    return told_of(starter_plan(std::move(list), "x", start()));
  };
  CHECK(told(4) == "base \"0\", 3 stations");
  CHECK_THAT(told(1), Catch::Contains("a single place is the base: add stations"));
  CHECK_THAT(told(400), Catch::Contains("399 stations; they do not fit into 150 minutes"));
}

TEST_CASE("a folder or a missing file is a fault that names it") {
  for (const char* path : {"/", "/nowhere/at/all.gpx"}) {
    const auto text = read_file(path);
    REQUIRE_FALSE(text);
    CHECK_THAT(text.error().what, Catch::Contains(std::string("cannot read ") + path));
  }
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

TEST_CASE("the base is the place that is named base or camp, whatever stands before the word") {
  const auto base = [](std::vector<Place> places) {
    return starter_plan(std::move(places), "x", start()).base.station;
  };
  const Place tarn{"Tarn", {46, 8, {}}}, cliff{"Base of the cliff", {46.02, 8, {}}};
  for (const std::string name : {"BASE", "Base camp", "Hut base", "Basecamp"})
    CHECK(base({tarn, cliff, {name, {46.01, 8, {}}}}) == name);
  CHECK(base({{"Old camp", {46.01, 8, {}}}, {"base", {46.02, 8, {}}}}) == "base");
  CHECK(base({tarn, cliff, {"Encampment", {46.01, 8, {}}}}) == "Tarn");
}

TEST_CASE("a name in GPX that is not UTF-8 is a fault that says which") {
  const auto places = places_from_gpx(
      "<gpx version=\"1.1\"><wpt lat=\"46.1\" lon=\"8.2\"><name>\xBE\xBEse</name></wpt></gpx>");
  REQUIRE_FALSE(places);
  CHECK(places.error().what.find("point 1 is not UTF-8") != std::string::npos);
}
