#include "console/picture/fold.hpp"

#include <cassert>

#include "console/picture/ledger.hpp"

namespace stonecall::picture {

struct Fold::Ledger : picture::Ledger {};

Fold::Fold() : ledger_(std::make_unique<Ledger>()) {}
Fold::~Fold() = default;
Fold::Fold(Fold&&) noexcept = default;
Fold& Fold::operator=(Fold&&) noexcept = default;

void Fold::add(EventPtr event) {
  assert(event);
  ledger_->add(std::move(event));
}

void Fold::add(std::span<const EventPtr> events) {
  for (const auto& event : events) add(event);
}

PicturePtr Fold::picture() {
  return ledger_->picture();
}

PicturePtr fold(std::span<const EventPtr> events) {
  Fold fold;
  fold.add(events);
  return fold.picture();
}

std::vector<EventPtr> known_by(std::span<const EventPtr> events, Instant then) {
  std::vector<EventPtr> known;
  for (const auto& event : events) {
    if (protocol::known_at(*event).instant <= then) known.push_back(event);
  }
  return known;
}

}  // namespace stonecall::picture
