#pragma once

#include <cstddef>
#include <memory>
#include <vector>

#include "console/picture/picture.hpp"

namespace stonecall::picture {

/// A recorded exercise as it was known at each moment. Goes back and forth over 100,000 events in
/// tens of milliseconds: on the way through it keeps what the fold had come to, at most about 128
/// times, whatever the length of the log.
class History {
 public:
  /// Events in the order in which they became known.
  explicit History(std::vector<EventPtr> events = {});
  ~History();
  History(History&&) noexcept;
  History& operator=(History&&) noexcept;

  /// The picture of the first `known` events, or of all where there are fewer; equal to a fresh
  /// fold of them.
  PicturePtr at(std::size_t known);
  /// Goes ahead through at most `most` events, so that a later at() finds its way prepared. False:
  /// all are.
  bool prepare(std::size_t most);
  /// One more event, known after the first `place` ones.
  void insert(std::size_t place, EventPtr event);

  std::size_t size() const;

 private:
  struct Pages;
  std::unique_ptr<Pages> pages_;
};

}  // namespace stonecall::picture
