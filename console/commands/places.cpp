#include "console/commands/places.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>
#include <set>
#include <tuple>

#include <pugixml.hpp>
#include <simdjson.h>

#include "protocol/event.hpp"
#include "protocol/utf8.hpp"

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

/// A height that no plan takes is what some devices write for none.
std::optional<double> plausible(std::optional<double> height_metres) {
  constexpr double kMost = 12'000;
  return height_metres && std::abs(*height_metres) <= kMost ? height_metres : std::nullopt;
}

/// In one line, without space around it, no longer than a name may be.
std::string as_name(std::string_view text) {
  std::string name;
  for (const char c : text) {
    const bool space = static_cast<unsigned char>(c) <= ' ' || c == '\x7F';
    if (!space)
      name += c;
    else if (!name.empty() && name.back() != ' ')
      name += ' ';
  }
  name.resize(utf8::beginning(name, Limits::name_bytes).size());
  while (name.ends_with(' ')) name.pop_back();
  return name;
}

/// Gives the nameless a name and the second of a name a number.
std::vector<Place> named(std::vector<Place> places) {
  std::set<std::string> taken;
  for (std::size_t i = 0; i < places.size(); ++i) {
    std::string& name = places[i].name;
    if (name.empty()) name = "stop " + std::to_string(i + 1);
    const std::string wanted = name;
    for (int n = 2; !taken.insert(name).second; ++n) {
      const std::string number = " " + std::to_string(n);
      name = wanted;
      name.resize(utf8::beginning(name, Limits::name_bytes - number.size()).size());
      name += number;
    }
  }
  return places;
}

/// `point 3, "Red Cleft"`.
std::string which(std::size_t number, const std::string& name) {
  return "point " + std::to_string(number) + (name.empty() ? "" : ", \"" + name + "\"");
}

/// Goes through GeoJSON for its points.
struct GeoJsonPoints {
  std::vector<Place> places;
  std::set<std::string> passed_over;  ///< kinds of geometry that are no points

  /// The fault of the first point that is none.
  std::optional<std::string> add(const Json& json, const std::string& name) {
    if (!json.is_object()) return std::nullopt;
    const auto type = json.value("type", Json());
    if (type == "FeatureCollection" || type == "GeometryCollection") {
      const char* const list = type == "FeatureCollection" ? "features" : "geometries";
      const auto found = json.find(list);
      if (found == json.end() || !found->is_array())
        return "a " + type.get<std::string>() + " without its list of " + list;
      for (const Json& each : *found)
        if (auto bad = add(each, name)) return bad;
      return std::nullopt;
    }
    if (type == "Feature")
      return add(json.value("geometry", Json()), name_in(json.value("properties", Json())));
    const auto at = json.value("coordinates", Json());
    if (type == "Point") return add_position(at, name);
    if (type == "MultiPoint") {
      if (!at.is_array()) return "a MultiPoint without its list of coordinates";
      for (const Json& each : at)
        if (auto bad = add_position(each, name)) return bad;
      return std::nullopt;
    }
    if (type.is_string()) passed_over.insert(as_name(type.get<std::string>()));
    return std::nullopt;
  }

 private:
  static std::string name_in(const Json& properties) {
    if (!properties.is_object()) return {};
    for (const char* const member : {"name", "Name", "NAME"}) {
      const auto found = properties.find(member);
      if (found == properties.end()) continue;
      if (found->is_string()) return as_name(found->get<std::string>());
      if (found->is_number()) return found->dump();
    }
    return {};
  }

  std::optional<std::string> add_position(const Json& at, const std::string& name) {
    const std::string point = which(places.size() + 1, name);
    if (!at.is_array() || at.size() < 2 || !at[0].is_number() || !at[1].is_number())
      return point +
             ", has no coordinates like [8.1043, 46.2052]: longitude, then latitude, in "
             "decimal degrees";
    // Longitude first: RFC 7946, section 3.1.1.
    Place place{name, {at[1].get<double>(), at[0].get<double>(), {}}};
    if (at.size() > 2 && at[2].is_number())
      place.position.height_metres = plausible(at[2].get<double>());
    if (!on_globe(place.position))
      return point + ", lies outside the globe at " + at.dump() +
             ": longitude stands first, both are decimal degrees of WGS 84";
    places.push_back(std::move(place));
    return std::nullopt;
  }
};

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1);
}

/// A decimal number as XML Schema has it: space around it and a plus before it are no fault.
std::optional<double> number(std::string_view text) {
  text = trimmed(text);
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (read.ec != std::errc{} || read.ptr != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  return value;
}

/// Without the prefix of its name space, which each writer chooses.
std::string_view local_name(const pugi::xml_node& node) {
  const std::string_view name = node.name();
  return name.substr(name.find(':') + 1);
}

std::vector<pugi::xml_node> children(const pugi::xml_node& node, std::string_view name) {
  std::vector<pugi::xml_node> found;
  for (const auto& child : node.children())
    if (local_name(child) == name) found.push_back(child);
  return found;
}

std::string_view text_in(const pugi::xml_node& node, std::string_view child) {
  const auto found = children(node, child);
  return found.empty() ? std::string_view() : found.front().child_value();
}

Result<Place> place_of(const pugi::xml_node& point, std::size_t number_of_it, std::size_t line) {
  const std::string name = as_name(text_in(point, "name"));
  if (!simdjson::validate_utf8(name))
    return fault("the name of point " + std::to_string(number_of_it) +
                     " is not UTF-8: save the file as UTF-8",
                 line);
  Place place{name, {}};
  for (const auto& [member, attribute, most] :
       {std::tuple{&Position::latitude, "lat", 90}, std::tuple{&Position::longitude, "lon", 180}}) {
    const std::string_view text = point.attribute(attribute).value();
    const auto degrees = number(text);
    if (!degrees || std::abs(*degrees) > most)
      return fault(which(number_of_it, name) + ", has \"" +
                       (simdjson::validate_utf8(text) ? std::string(text) : "?") + "\" as its " +
                       attribute + "; decimal degrees of WGS 84 between -" + std::to_string(most) +
                       " and " + std::to_string(most) + " were expected",
                   line);
    place.position.*member = *degrees;
  }
  place.position.height_metres = plausible(number(text_in(point, "ele")));
  return place;
}

/// Whether base or camp is its whole name, or else what its name ends on: "Base camp", "Hut base",
/// but not "base of the cliff".
bool is_base(const Place& place, bool whole) {
  std::string name = place.name;
  std::ranges::transform(name, name.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  if (whole) return name == "base" || name == "camp";
  return name == "basecamp" || name.ends_with(" base") || name.ends_with(" camp") ||
         name.ends_with("-camp");
}

}  // namespace

Result<std::vector<Place>> places_from_geojson(std::string_view text) {
  constexpr std::size_t most_bytes = 16 * 1024 * 1024;
  auto json = parse_json(text, most_bytes);
  if (!json) return tl::make_unexpected(json.error());
  if (!json->is_object() || !json->contains("type"))
    return fault("no GeoJSON: an object with a \"type\", as \"FeatureCollection\", was expected");
  GeoJsonPoints points;
  if (auto bad = points.add(*json, {})) return fault("GeoJSON: " + *bad);
  if (points.places.empty()) {
    std::string only;
    for (const auto& type : points.passed_over) only += (only.empty() ? ", only " : ", ") + type;
    return fault("GeoJSON without a Point or MultiPoint" + only +
                 ": mark the base and each station as a point");
  }
  return named(std::move(points.places));
}

Result<std::vector<Place>> places_from_gpx(std::string_view text) {
  const auto line_at = [&](std::ptrdiff_t offset) {
    const auto end = text.begin() + std::clamp<std::ptrdiff_t>(
                                        offset, 0, static_cast<std::ptrdiff_t>(text.size()));
    return static_cast<std::size_t>(std::count(text.begin(), end, '\n')) + 1;
  };
  pugi::xml_document document;
  const auto read = document.load_buffer(text.data(), text.size());
  if (!read) return fault(std::string("not XML: ") + read.description(), line_at(read.offset));
  const auto gpx = document.document_element();
  if (local_name(gpx) != "gpx")
    return fault("no GPX: its outermost element is <" + as_name(gpx.name()) +
                 ">; export it as GPX 1.1 or GeoJSON");
  const std::string version = as_name(gpx.attribute("version").value());
  if (version != "1.1")
    return fault("GPX of version \"" + version + "\"; 1.1 is read: export it as GPX 1.1");
  std::vector<pugi::xml_node> points = children(gpx, "wpt");
  if (points.empty())
    for (const auto& route : children(gpx, "rte")) {
      const auto of_it = children(route, "rtept");
      points.insert(points.end(), of_it.begin(), of_it.end());
    }
  std::vector<Place> places;
  for (const auto& point : points) {
    auto place = place_of(point, places.size() + 1, line_at(point.offset_debug()));
    if (!place) return tl::make_unexpected(std::move(place.error()));
    places.push_back(std::move(*place));
  }
  if (places.empty())
    return fault(std::string("GPX without a waypoint or a point of a route") +
                 (children(gpx, "trk").empty() ? "" : ", only with a track") +
                 ": mark the base and each station as a waypoint");
  return named(std::move(places));
}

Result<std::vector<Place>> places_from(std::string_view text) {
  // XML may be UTF-16, with its mark of the byte order first.
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF")) return places_from_gpx(text);
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  const std::string_view begin = trimmed(text);
  if (begin.empty()) return fault("an empty file");
  if (begin.starts_with('<')) return places_from_gpx(text);
  if (begin.starts_with('{') || begin.starts_with('[')) return places_from_geojson(text);
  return fault("neither GPX, which begins with \"<\", nor GeoJSON, which begins with \"{\"");
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
  auto base = std::ranges::find_if(places, [](const Place& place) { return is_base(place, true); });
  if (base == places.end())
    base = std::ranges::find_if(places, [](const Place& place) { return is_base(place, false); });
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

std::string told_of(const Plan& plan) {
  const auto stations = plan.stations.size();
  std::string told = "base \"" + plan.base.station + "\", " + std::to_string(stations) +
                     (stations == 1 ? " station" : " stations");
  const double minutes = std::accumulate(
      plan.stations.begin(), plan.stations.end(), 0.0,
      [](double sum, const PlannedStation& each) { return sum + each.allotted_minutes; });
  if (stations == 0) {
    told += "; a single place is the base: add stations";
  } else if (minutes > plan.duration_minutes) {
    told += "; they do not fit into " + std::to_string(static_cast<int>(plan.duration_minutes)) +
            " minutes: take out what is no station, or give \"duration_minutes\" more";
  }
  return told;
}

}  // namespace stonecall::commands
