#include "console/reading/label_form.hpp"

#include <string>

namespace stonecall::reading {
namespace {

using Json = nlohmann::ordered_json;

std::string planned(const char* field, bool in_plan) {
  return in_plan ? field : std::string(field) + "_outside_plan";
}

std::string_view name(What what) {
  switch (what) {
    case What::arrive:
      return "arrive";
    case What::leave:
      return "leave";
    case What::sample:
      return "sample";
    case What::question:
      return "question";
  }
  return "";
}

std::string_view name(Picture picture) {
  switch (picture) {
    case Picture::stereo:
      return "stereo";
    case Picture::down_sun:
      return "down_sun";
    case Picture::after:
      return "after";
  }
  return "";
}

std::string_view name(Changed what) {
  switch (what) {
    case Changed::bag:
      return "bag";
    case Changed::sample_number:
      return "sample_no";
    case Changed::rock:
      return "rock";
    case Changed::station:
      return "station";
  }
  return "";
}

std::string_view name(Trait trait) {
  switch (trait) {
    case Trait::colour:
      return "colour";
    case Trait::texture:
      return "texture";
    case Trait::shape:
      return "shape";
    case Trait::picked:
      return "picked";
    case Trait::relation:
      return "relation";
  }
  return "";
}

struct ToJson {
  Json operator()(const Happened& fact) const {
    return {{"field", "event"}, {"value", name(fact.what)}};
  }
  Json operator()(const AtStation& fact) const {
    return {{"field", fact.said ? "station" : "station_unsaid"}, {"value", fact.station}};
  }
  Json operator()(const FieldNumber& fact) const {
    return {{"field", "sample_no"}, {"value", fact.digits}};
  }
  Json operator()(const BagNumber& fact) const {
    return {{"field", "bag"}, {"value", fact.digits}};
  }
  Json operator()(const RockHere& fact) const {
    return {{"field", planned("rock", fact.planned)}, {"value", fact.rock}};
  }
  Json operator()(const RockAbsent& fact) const {
    return {{"field", planned("absent", fact.planned)}, {"value", fact.rock}};
  }
  Json operator()(const RockShare& fact) const {
    return {{"field", planned("share", fact.planned)},
            {"rock", fact.rock},
            {"low", fact.percent.low},
            {"high", fact.percent.high},
            {"best", fact.percent.best}};
  }
  Json operator()(const RockCounted& fact) const {
    return {{"field", planned("tally", fact.planned)}, {"rock", fact.rock}, {"count", fact.count}};
  }
  Json operator()(const RocksLookedAt& fact) const {
    return {{"field", "tally_total"}, {"value", fact.total}};
  }
  Json operator()(const PhotoTaken& fact) const {
    return {{"field", "photo"}, {"value", name(fact.picture)}};
  }
  Json operator()(const LongestSide& fact) const { return {{"field", "size"}, {"mm", fact.mm}}; }
  Json operator()(const BuriedPart& fact) const {
    return {{"field", "buried"}, {"low", fact.percent.low}, {"high", fact.percent.high}};
  }
  Json operator()(const PutRight& fact) const {
    Json json{{"field", "change"}, {"what", name(fact.what)}, {"to", fact.to}};
    if (fact.sample) json["sample"] = *fact.sample;
    return json;
  }
  Json operator()(const Described& fact) const {
    return {{"field", name(fact.trait)}, {"value", fact.words}};
  }
};

}  // namespace

nlohmann::ordered_json label_form(const Proposal& proposal) {
  Json json = std::visit(ToJson{}, proposal.fact);
  json["begin"] = proposal.words.begin;
  json["end"] = proposal.words.end;
  json["sure"] = proposal.sureness;
  return json;
}

}  // namespace stonecall::reading
