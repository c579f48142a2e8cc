#pragma once

#include <memory>
#include <span>
#include <unordered_map>
#include <vector>

#include <boost/container_hash/hash.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "console/picture/picture.hpp"

namespace stonecall::picture {

/// Folds events into a picture. Events may come in any order and more than once; the picture
/// depends only on which events have come. In order it costs one step an event; a late one re-folds
/// from the last checkpoint before it.
class Fold {
 public:
  Fold();
  ~Fold();
  Fold(Fold&&) noexcept;
  Fold& operator=(Fold&&) noexcept;

  void add(EventPtr event);
  void add(std::span<const EventPtr> events);

  /// The picture of all events so far. The first call after an add does the folding.
  PicturePtr picture();

 private:
  struct Ledger;
  std::unique_ptr<Ledger> ledger_;
};

/// One-off: the picture of these events.
PicturePtr fold(std::span<const EventPtr> events);

/// Those of `events` that were known by `then`: received by then, or happened by then where nobody
/// noted the receipt.
std::vector<EventPtr> known_by(std::span<const EventPtr> events, Instant then);

}  // namespace stonecall::picture
