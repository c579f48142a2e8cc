#pragma once

#include <functional>
#include <vector>

#include "console/desk/canvas.hpp"

namespace stonecall::desk {

/// A place on the desk. Where there is not room for all regions some share one place; then `shown`
/// is drawn and the names of the others stand beside its own in the heading.
struct Slot {
  Rect area;   ///< of the region shown
  Rect names;  ///< the line of its heading; empty (h = 0) where the place has one region
  std::vector<RegionId> regions;
  RegionId shown{};
};

struct Layout {
  Rect hours, entry;
  bool compact = false;      ///< Hours with its lines set closer
  bool words_below = false;  ///< in Hours the words of a figure stand below it, not beside
  std::vector<Slot> slots;   ///< places of Heard, Kinds, Call and Ground
  struct Line {
    float x0, y0, x1, y1;
  };
  std::vector<Line> rules;  ///< hairlines between the places

  /// The place where a region is drawn; null while another has its place.
  const Slot* slot_of(RegionId region) const;
};

/// The heights in screen pixels that a region of some width asks for; 0: it takes what it gets.
struct Wanted {
  float least = 0;    ///< at which nothing of it is hidden
  float at_ease = 0;  ///< at which no text of it is cut short either
};
using RoomNeeded = std::function<Wanted(RegionId region, float width)>;

/// Divides a window of `width` × `height` pixels. Three columns where each gets at least 360 px ×
/// scale, else two, else one, of two places if it is high enough. `wanted` is the region last
/// looked at: it is shown where a place is shared. In a very low window the ruler is there while
/// Hours was looked at last. Where Kinds stands over or under another region the other makes room
/// for what Kinds needs, down to what it cannot do without itself; so does Ground under Call.
Layout lay_out(float width, float height, float scale, const std::vector<RegionId>& wanted,
               const RoomNeeded& needed = {});

}  // namespace stonecall::desk
