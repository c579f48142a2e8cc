#include <unordered_map>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>
#include <fmt/format.h>

#include "console/debrief/sections/sections.hpp"

namespace stonecall::debrief::sections {
namespace {

/// A page is read by people; the rest can be had from `stonecall check`.
constexpr std::size_t most = 200;

Markup and_more(std::size_t all) {
  return all > most
             ? element("p", fmt::format("{} more are named by “stonecall check”.", all - most))
             : Markup{};
}

Markup faults(const Debrief& debrief) {
  if (debrief.faults.empty()) return element("p", "No line is at fault.");
  Table table("Lines at fault; each costs itself and no other.",
              {{"Line", true}, {"Member"}, {"What is wrong"}});
  for (std::size_t i = 0; i < std::min(most, debrief.faults.size()); ++i) {
    const auto& fault = debrief.faults[i];
    table.row({fault.line ? fmt::format("{}", *fault.line) : "–",
               fault.member.empty() ? "–" : fault.member, fault.what});
  }
  return table.markup() + and_more(debrief.faults.size());
}

Markup flags(const Debrief& debrief, const Pen& pen) {
  const auto& picture = *debrief.picture;
  if (picture.flags.empty()) return element("p", "Nothing in it contradicts itself.");
  std::unordered_map<protocol::Uuid, Instant, boost::hash<protocol::Uuid>> when;
  for (const auto& line : picture.heard) {
    when.emplace(line.event->id, line.event->at.instant);
    for (const auto& reading : line.readings) when.emplace(reading.id, line.event->at.instant);
  }
  Table table("What a person should look at.", {{"At"}, {"What"}});
  for (std::size_t i = 0; i < std::min(most, picture.flags.size()); ++i) {
    const auto& flag = picture.flags[i];
    const auto at = when.find(flag.about);
    table.row({at == when.end() ? "–" : pen.elapsed(at->second), flag.text});
  }
  return table.markup() + and_more(picture.flags.size());
}

}  // namespace

Markup log(const Debrief& debrief, Pen& pen) {
  const auto& picture = *debrief.picture;
  std::vector<std::string> kinds;
  std::size_t events = 0;
  for (const auto& [kind, number] : debrief.kinds) {
    kinds.push_back(fmt::format("{} {}", number, kind));
    events += number;
  }
  std::string text =
      fmt::format("{}: {}: {}.", debrief.name, count(events, "event", "events"), listed(kinds));
  if (picture.not_understood > 0)
    text +=
        fmt::format(" {} of a kind not understood here; they are kept.", picture.not_understood);
  if (!picture.plan)
    text += " No plan is in this log: clocks, wanted kinds and turn-back can not be worked out.";
  return element("p", text) + faults(debrief) + flags(debrief, pen);
}

}  // namespace stonecall::debrief::sections
