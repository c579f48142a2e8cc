#include "console/commands/places.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>

#include <pugixml.hpp>
#include <simdjson.h>

#include "protocol/event.hpp"

namespace stonecall::commands {
namespace {

using namespace protocol;

tl::unexpected<Fault> fault(std::string what, std::optional<std::size_t> line = {}) {
  return tl::make_unexpected(Fault{"", std::move(what), line});
}

bool on_globe(const Position& p) {
  return std::isfinite(p.latitude) && std::isfinite(p.longitude) && std::abs(p.latitude) <= 90 &&
         std::abs(p.longitude) <= 180;
}

/// Gives the nameless a name and the second of a name a number.
std::vector<Place> named(std::vector<Place> places) {
  std::set<std::string> taken;
  for (std::size_t i = 0; i < places.size(); ++i) {
    std::string& name = places[i].name;
    if (name.size() > Limits::name_bytes || name.empty()) name = "stop " + std::to_string(i + 1);
    const std::string wanted = name;
    for (int n = 2; !taken.insert(name).second; ++n) name = wanted + " " + std::to_string(n);
  }
  return places;
}

/// Adds the points of a geometry or feature; the fault of the first that is none.
std::optional<std::string> add_points(const Json& json, const std::string& name,
                                      std::vector<Place>& places) {
  if (!json.is_object()) return std::nullopt;
  const auto type = json.value("type", Json());
  if (type == "FeatureCollection" || type == "GeometryCollection") {
    const auto list = json.find(type == "FeatureCollection" ? "features" : "geometries");
    if (list == json.end() || !list->is_array()) return "a collection without its list";
    for (const Json& each : *list)
      if (auto bad = add_points(each, name, places)) return bad;
    return std::nullopt;
  }
  if (type == "Feature") {
    const auto properties = json.value("properties", Json());
    std::string called;
    if (properties.is_object())
      if (auto found = properties.find("name"); found != properties.end() && found->is_string())
        called = found->get<std::string>();
    return add_points(json.value("geometry", Json()), called, places);
  }
  if (type != "Point") return std::nullopt;
  const auto at = json.value("coordinates", Json());
  if (!at.is_array() || at.size() < 2 || !at[0].is_number() || !at[1].is_number())
    return "a point without longitude and latitude";
  // Longitude first: RFC 7946, section 3.1.1.
  Place place{name, {at[1].get<double>(), at[0].get<double>(), {}}};
  if (at.size() > 2 && at[2].is_number()) place.position.height_metres = at[2].get<double>();
  if (!on_globe(place.position))
    return "a point outside the globe; longitude stands before latitude";
  places.push_back(std::move(place));
  return std::nullopt;
}

std::optional<double> number(const char* text) {
  const std::string_view all(text);
  double value = 0;
  const auto read = std::from_chars(all.data(), all.data() + all.size(), value);
  if (read.ec != std::errc{} || read.ptr != all.data() + all.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::string trimmed(std::string text) {
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

std::optional<Place> place_of(const pugi::xml_node& point) {
  const auto latitude = number(point.attribute("lat").value());
  const auto longitude = number(point.attribute("lon").value());
  if (!latitude || !longitude) return std::nullopt;
  Place place{trimmed(point.child_value("name")),
              {*latitude, *longitude, number(trimmed(point.child_value("ele")).c_str())}};
  if (!on_globe(place.position)) return std::nullopt;
  return place;
}

bool is_base(const Place& place) {
  std::string name = place.name;
  std::ranges::transform(name, name.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return name == "base" || name == "camp";
}

}  // namespace

Result<std::vector<Place>> places_from_geojson(std::string_view text) {
  constexpr std::size_t most_bytes = 16 * 1024 * 1024;
  auto json = parse_json(text, most_bytes);
  if (!json) return tl::make_unexpected(json.error());
  if (!json->is_object() || !json->contains("type"))
    return fault("no GeoJSON: an object with a \"type\" was expected");
  std::vector<Place> places;
  if (auto bad = add_points(*json, {}, places)) return fault("GeoJSON: " + *bad);
  if (places.empty()) return fault("GeoJSON without a point");
  return named(std::move(places));
}

Result<std::vector<Place>> places_from_gpx(std::string_view text) {
  pugi::xml_document document;
  const auto read = document.load_buffer(text.data(), text.size());
  if (!read) {
    const auto end = text.begin() + std::min<std::ptrdiff_t>(
                                        read.offset, static_cast<std::ptrdiff_t>(text.size()));
    const auto line = static_cast<std::size_t>(std::count(text.begin(), end, '\n')) + 1;
    return fault(std::string("not XML: ") + read.description(), line);
  }
  const auto gpx = document.child("gpx");
  if (!gpx) return fault("no GPX: its outermost element is not \"gpx\"");
  if (std::string_view(gpx.attribute("version").value()) != "1.1")
    return fault("GPX of version \"" + std::string(gpx.attribute("version").value()) +
                 "\"; 1.1 is read");
  std::vector<pugi::xml_node> points;
  for (const auto& point : gpx.children("wpt")) points.push_back(point);
  if (points.empty())
    for (const auto& route : gpx.children("rte"))
      for (const auto& point : route.children("rtept")) points.push_back(point);
  std::vector<Place> places;
  for (const auto& point : points) {
    auto place = place_of(point);
    if (!place)
      return fault("GPX: point " + std::to_string(places.size() + 1) +
                   " has no latitude and longitude on the globe");
    if (!simdjson::validate_utf8(place->name))
      return fault("GPX: the name of point " + std::to_string(places.size() + 1) +
                   " is not UTF-8; save the file as UTF-8");
    places.push_back(std::move(*place));
  }
  if (places.empty()) return fault("GPX without a waypoint or a point of a route");
  return named(std::move(places));
}

Result<std::vector<Place>> places_from(std::string_view text) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return fault("an empty file");
  return text[first] == '<' ? places_from_gpx(text) : places_from_geojson(text);
}

Plan starter_plan(std::vector<Place> places, const std::string& name, Timestamp start) {
  Plan plan;
  plan.name = name;
  plan.start = start;
  plan.notes = "A beginning: check every place, time, wanted kind and name before use.";
  if (places.empty()) {
    places = {{"BASE", {46.2010, 8.1005, 1240.0}},
              {"first stop", {46.2052, 8.1043, 1275.0}},
              {"second stop", {46.2091, 8.1090, 1310.0}}};
  }
  auto base = std::ranges::find_if(places, is_base);
  if (base == places.end()) base = places.begin();
  plan.base = {base->name, base->position, {}};
  places.erase(base);
  // A third of the time goes into walking; common practice, no source.
  const double each =
      places.empty()
          ? 0
          : std::floor(plan.duration_minutes * 2 / 3 / static_cast<double>(places.size()));
  for (const Place& place : places) {
    PlannedStation station;
    station.station = place.name;
    station.position = place.position;
    station.allotted_minutes = std::max(1.0, each);
    plan.stations.push_back(std::move(station));
  }
  plan.vocabulary = {{"granite", {}}, {"basalt", {}},    {"gneiss", {}},
                     {"schist", {}},  {"sandstone", {}}, {"limestone", {}}};
  plan.wanted = {{"granite", 2, 1, 0.5}, {"basalt", 2, 1, 0.5}};
  plan.people = {
      {"FIELD-1", Side::field, 10}, {"FIELD-2", Side::field, 10}, {"DESK", Side::back_room, 10}};
  return plan;
}

}  // namespace stonecall::commands
