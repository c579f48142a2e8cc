#pragma once

#include <optional>

#include <boost/unordered/unordered_flat_map.hpp>
#include <boost/uuid/uuid_hash.hpp>

#include "server/store.hpp"

namespace stonecall::server {

/// Which ids stand already, and where: some 40 bytes an event.
class Ids {
 public:
  /// The number of the event that has this id; empty if none had, and then `seq` has it from now
  /// on.
  std::optional<Sequence> stand(const protocol::Uuid& id, Sequence seq) {
    const auto [place, is_new] = places_.try_emplace(id, seq);
    return is_new ? std::nullopt : std::optional(place->second);
  }

  std::optional<Sequence> find(const protocol::Uuid& id) const {
    const auto place = places_.find(id);
    return place == places_.end() ? std::nullopt : std::optional(place->second);
  }

  /// Lets go of an id if an event after `last` has it: one that was not committed.
  void forget(const protocol::Uuid& id, Sequence last) {
    const auto place = places_.find(id);
    if (place != places_.end() && place->second > last) places_.erase(place);
  }

 private:
  boost::unordered_flat_map<protocol::Uuid, Sequence> places_;
};

}  // namespace stonecall::server
