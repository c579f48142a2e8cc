#include <cmath>

#include "console/debrief/sample_place.hpp"
#include "console/debrief/samples_file.hpp"
#include "console/picture/gaps.hpp"

namespace stonecall::debrief {
namespace {

using protocol::Json;

/// A centimetre: no tie is better.
double rounded(double degrees) {
  return std::round(degrees * 1e7) / 1e7;
}

Json geometry(const std::optional<SamplePlace>& place) {
  if (!place) return nullptr;
  const auto& at = place->position;
  Json coordinates{rounded(at.longitude), rounded(at.latitude)};
  if (at.height_metres) coordinates.push_back(*at.height_metres);
  return {{"type", "Point"}, {"coordinates", std::move(coordinates)}};
}

Json properties(const picture::Sample& sample, const picture::Picture& picture,
                const std::optional<SamplePlace>& place) {
  const auto offset = local_offset(picture);
  Json json{{"number", sample.number},
            {"bag", sample.bag},
            {"rock", sample.rock},
            {"station", sample.station},
            {"first_word", protocol::to_string(protocol::Timestamp{sample.first, offset})},
            {"chosen", !sample.unselective}};
  if (place) json["place_from"] = place->from_tie ? "tie" : "stated";
  if (sample.size_mm) json["size_mm"] = *sample.size_mm;
  const auto range = [&](const char* name, const std::optional<protocol::PercentRange>& percent) {
    if (percent) json[name] = {percent->low, percent->high};
  };
  range("buried_percent", sample.buried);
  range("like_it_percent", sample.like_it);
  const auto text = [&](const char* name, const std::string& value) {
    if (!value.empty()) json[name] = value;
  };
  text("picked", sample.picked);
  text("relation", sample.relation);
  text("description", sample.description);
  text("shape", sample.shape);
  text("colour", sample.colour);
  text("texture", sample.texture);
  json["photos"] = Json::array();
  for (const auto& photo : sample.photos)
    json["photos"].push_back(std::string(protocol::to_string(photo.view)));
  json["lacks"] = Json::array();
  for (const auto gap : picture::gaps(
           sample, picture.plan ? picture.plan->documentation : protocol::Documentation{}))
    json["lacks"].push_back(std::string(picture::words(gap)));
  return json;
}

}  // namespace

std::string samples_geojson(const picture::Picture& picture) {
  Json features = Json::array();
  for (const auto& sample : picture.samples) {
    if (!sample.taken) continue;
    const auto place = place_of(sample, picture);
    features.push_back({{"type", "Feature"},
                        {"geometry", geometry(place)},
                        {"properties", properties(sample, picture, place)}});
  }
  return Json{{"type", "FeatureCollection"}, {"features", std::move(features)}}.dump(1) + "\n";
}

}  // namespace stonecall::debrief
