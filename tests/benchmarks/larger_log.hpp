#pragma once

#include <algorithm>
#include <cstdint>
#include <random>
#include <string>
#include <vector>

#include "protocol/event.hpp"

/// Larger logs made from a recorded one, for benchmarks.
namespace stonecall::benchmarks {

/// What is said of a sample becomes word of another one with each copy.
inline void rename_samples(protocol::Event& event, std::size_t copy) {
  const std::string suffix = "/" + std::to_string(copy);
  if (auto* taken = std::get_if<protocol::SampleTaken>(&event.body)) {
    if (taken->number) taken->number.change() += suffix;
    if (taken->bag) taken->bag.change() += suffix;
  } else if (auto* photo = std::get_if<protocol::Photo>(&event.body)) {
    if (photo->sample) *photo->sample += suffix;
  }
}

/// What is said of a sample is said again of the same one with each copy, otherwise each time.
inline void contradict_samples(protocol::Event& event, std::size_t copy) {
  if (auto* taken = std::get_if<protocol::SampleTaken>(&event.body)) {
    if (taken->bag) taken->bag.change() += "/" + std::to_string(copy);
    if (taken->rock) taken->rock.change() = copy % 2 == 0 ? "granite" : "schist";
    taken->size_mm = 60.0 + static_cast<double>(copy);
  }
}

enum class Copies { other_samples, same_samples_otherwise };

/// The log's plan and then its field events (notes, movements, samples, photographs, counts,
/// shares, sightings, questions), drawn at random with ids and samples of their own, `count` events
/// in all, in the order in which they were received.
inline std::vector<protocol::Event> repeated_at_random(
    const std::vector<protocol::EventPtr>& recorded, std::size_t count,
    Copies copies_tell_of = Copies::other_samples) {
  using namespace protocol;
  std::vector<const Event*> field;
  std::vector<std::size_t> copies;
  std::vector<Event> made;
  for (const EventPtr& event : recorded) {
    const Body::Variant& body = event->body;
    if (std::holds_alternative<PlanGiven>(body) && made.empty()) made.push_back(*event);
    const bool refers =
        std::holds_alternative<Reading>(body) || std::holds_alternative<Amend>(body) ||
        std::holds_alternative<Retract>(body) || std::holds_alternative<CallAnswer>(body) ||
        std::holds_alternative<Answer>(body) || std::holds_alternative<Remark>(body);
    if (!refers && !std::holds_alternative<PlanGiven>(body) && !std::holds_alternative<Call>(body))
      field.push_back(event.get());
  }
  std::mt19937_64 random(1);  // the same log each time
  std::uniform_int_distribution<std::size_t> any(0, field.size() - 1);
  const auto plans = static_cast<std::ptrdiff_t>(made.size());
  copies.resize(field.size());
  made.reserve(count);
  while (made.size() < count) {
    const std::size_t drawn = any(random);
    Event each = *field[drawn];
    if (copies_tell_of == Copies::other_samples)
      rename_samples(each, copies[drawn]++);
    else
      contradict_samples(each, copies[drawn]++);
    for (std::size_t i = 0; i < each.id.size(); i += 8) {
      const std::uint64_t bits = random();
      for (std::size_t j = 0; j < 8; ++j)
        each.id.data[i + j] = static_cast<std::uint8_t>(bits >> (8 * j));
    }
    made.push_back(std::move(each));
  }
  const auto known = [](const Event& event) { return event.received.value_or(event.at).instant; };
  std::stable_sort(made.begin() + plans, made.end(),
                   [&](const Event& a, const Event& b) { return known(a) < known(b); });
  std::uint64_t seq = 0;
  for (Event& each : made) each.seq = ++seq;
  return made;
}

}  // namespace stonecall::benchmarks
