#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "console/desk/region.hpp"

namespace stonecall::desk {

struct DrillLine;

struct KindsState {
  bool whole = false;      ///< whole exercise instead of the station
  bool all = false;        ///< also kinds of which nothing is known
  std::size_t row = 0;     ///< first row shown, where there is not room for all
  std::size_t line = 0;    ///< first line shown of a kind's samples
  std::string opened;      ///< the kind whose samples were shown last
  std::size_t hidden = 0;  ///< rows that had no room when it was drawn last
  std::string entry;       ///< where the keyboard was left among its lines
  bool bring = false;      ///< what the keyboard went to is still to be brought into sight

  /// The lines of the opened kind, kept while nothing they rest on changes.
  struct DrillKey {
    picture::PicturePtr picture;
    std::shared_ptr<const Proposals> proposals;
    std::string rock, here;
    std::optional<std::string> sample;
    TimeMode clock{};
    bool operator==(const DrillKey&) const = default;
  };
  struct Drill {
    DrillKey key;
    std::shared_ptr<const std::vector<DrillLine>> lines;
  } drill;
};

Commands draw_kinds(const View& view, KindsState& state, Canvas& canvas);
std::span<const KeyLine> kinds_keys();

/// The height in pixels at which all rows stand in their places with all that is said below them,
/// drawn as wide as this canvas; 0 where there is no table. Nearly the same whatever the words are,
/// so that what stands beside it keeps its place.
float kinds_height(const View& view, KindsState& state, const Canvas& canvas);

/// The table as shown, as tab-separated text with a line saying where and when.
std::string kinds_as_text(const View& view, bool whole, const ClockText& clock);

/// "Same ground as North Apron: P(same) 0.94", in words by how sure it is; "no basis" where there
/// is none. Empty where there is nothing to compare with.
std::string same_ground_text(const advise::Assessment& assessment);

}  // namespace stonecall::desk
