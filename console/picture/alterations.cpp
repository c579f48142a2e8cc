#include "console/picture/alterations.hpp"

#include <algorithm>

namespace stonecall::picture {
namespace {

using protocol::Amend;
using protocol::Event;
using protocol::Json;
using protocol::Reading;
using protocol::Retract;

struct Found {
  Origin by;
  const Amend* amend = nullptr;
  const Retract* retract = nullptr;
  bool retracted = false;
};

/// All alterations of anything, in the order of what was heard.
std::vector<Found> all_alterations(const Picture& picture) {
  std::vector<Found> all;
  for (const HeardLine& line : picture.heard) {
    const Origin by{line.event->id, line.event->at.instant, line.event->from};
    if (const auto* amend = std::get_if<Amend>(&line.event->body))
      all.push_back({by, amend, nullptr, line.retracted});
    if (const auto* retract = std::get_if<Retract>(&line.event->body))
      all.push_back({by, nullptr, retract, line.retracted});
    for (const ReadingMade& made : line.readings) {
      const auto* amend = std::get_if<Amend>(&made.reading.fact);
      if (amend && made.reading.outcome != protocol::Outcome::declined)
        all.push_back({{made.id, by.at, made.from}, amend, nullptr, made.retracted});
    }
  }
  return all;
}

Json member(const Json& members, const std::string& name) {
  const auto found = members.find(name);
  return found == members.end() ? Json() : *found;
}

}  // namespace

EventPtr statement(const Picture& picture, const Uuid& id, bool as_it_came) {
  for (std::size_t i = picture.heard.size(); i-- > 0;) {
    const HeardLine& line = picture.heard[i];
    if (line.event->id == id) return as_it_came && line.first ? line.first : line.event;
    for (const ReadingMade& made : line.readings) {
      if (made.id != id) continue;
      if (as_it_came && made.first) return made.first;
      Event reading;
      reading.id = id;
      reading.at = line.event->at;
      reading.from = made.from;
      reading.body = made.reading;
      return std::make_shared<const Event>(std::move(reading));
    }
  }
  return nullptr;
}

Json members_of(const Event& event) {
  Json json = protocol::to_json(event);
  Json members = Json::object();
  if (json.contains("at")) members["at"] = json["at"];
  const Json& from = std::holds_alternative<Reading>(event.body) ? json["fact"] : json;
  for (const auto& [name, value] : from.items()) {
    if (name != "id" && name != "kind" && name != "from" && name != "seq" && name != "received" &&
        name != "clock_off")
      members[name] = value;
  }
  return members;
}

std::vector<Alteration> alterations(const Picture& picture, const Uuid& id) {
  EventPtr current = statement(picture, id, true);
  if (!current) return {};
  const std::vector<Found> all = all_alterations(picture);

  std::vector<Alteration> out;
  std::vector<Uuid> ours;
  for (const Found& each : all) {
    Alteration made;
    made.by = each.by;
    made.in_force = !each.retracted;
    if (each.amend && each.amend->target == id) {
      made.what = Alteration::What::amended;
      made.why = each.amend->why.value_or("");
      auto changed = protocol::amended(*current, each.amend->changes);
      if (!changed) made.refused = protocol::to_string(changed.error());
      const Json before = members_of(*current);
      for (const auto& [name, value] : each.amend->changes.items()) {
        const Json was = member(before, name);
        const Json is = changed ? member(members_of(*changed), name) : value;
        if (was != is || !changed) made.changes.push_back({name, was, is});
      }
      if (changed && made.in_force) current = std::make_shared<const Event>(std::move(*changed));
    } else if (each.retract && each.retract->target == id) {
      made.what = Alteration::What::retracted;
      made.why = each.retract->why.value_or("");
    } else {
      continue;
    }
    ours.push_back(each.by.id);
    out.push_back(std::move(made));
  }
  for (const Found& each : all) {
    if (!each.retract || std::ranges::find(ours, each.retract->target) == ours.end()) continue;
    out.push_back({.what = Alteration::What::undone,
                   .by = each.by,
                   .changes = {},
                   .why = each.retract->why.value_or(""),
                   .refused = {},
                   .in_force = !each.retracted});
  }
  std::ranges::stable_sort(out, {}, [](const Alteration& each) { return each.by.at; });
  return out;
}

}  // namespace stonecall::picture
