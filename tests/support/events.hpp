#pragma once

#include <array>
#include <cstdint>
#include <initializer_list>
#include <memory>
#include <string>

#include "protocol/event.hpp"

/// Short ways to write down an invented exercise in a test.
namespace stonecall::test {

using protocol::Event;
using protocol::EventPtr;
using protocol::Uuid;

/// The n-th id: recognisable in a failure.
inline Uuid id(std::uint32_t n) {
  Uuid uuid{};
  for (std::size_t i = 0; i < 4; ++i) uuid.data[15 - i] = static_cast<std::uint8_t>(n >> (8 * i));
  uuid.data[6] = 0x40;
  uuid.data[8] = 0x80;
  return uuid;
}

/// 09:00 local of the invented day plus minutes; the exercises of the tests start then.
inline protocol::Timestamp clock(double minutes) {
  const auto start = protocol::parse_timestamp("2027-05-18T09:00:00.000+02:00").value();
  const auto later = std::chrono::milliseconds(static_cast<std::int64_t>(minutes * 60'000));
  return {start.instant + later, start.offset};
}

inline Event event(std::uint32_t n, double minutes, protocol::Body body,
                   std::string from = "FIELD-1") {
  Event made;
  made.id = id(n);
  made.at = clock(minutes);
  made.from = std::move(from);
  made.seq = n;
  made.body = std::move(body);
  return made;
}

inline EventPtr shared(std::uint32_t n, double minutes, protocol::Body body,
                       std::string from = "FIELD-1") {
  return std::make_shared<const Event>(event(n, minutes, std::move(body), std::move(from)));
}

/// A small plan with a base, two stations 500 m and 1 km north of it, and four kinds.
inline protocol::Plan small_plan() {
  protocol::Plan plan;
  plan.name = "Larch Hollow";
  plan.start = clock(0);
  plan.duration_minutes = 120;
  plan.base = {"BASE", {46.0, 8.0, 500.0}, {}};
  const auto station = [](std::string name, double latitude) {
    protocol::PlannedStation made;
    made.station = std::move(name);
    made.position = {latitude, 8.0, 520.0};
    made.allotted_minutes = 30;
    return made;
  };
  plan.stations = {station("Ford", 46.0045), station("Terrace", 46.009)};
  plan.vocabulary = {{"gneiss", {}}, {"marble", {}}, {"slate", {}}, {"quartzite", {}}};
  plan.wanted = {{"marble", 2, 1, 0.5}, {"slate", 1, 2, 0.5}};
  plan.people = {{"FIELD-1", protocol::Side::field, 10},
                 {"FIELD-2", protocol::Side::field, 10},
                 {"BASE", protocol::Side::back_room, 10}};
  return plan;
}

}  // namespace stonecall::test
