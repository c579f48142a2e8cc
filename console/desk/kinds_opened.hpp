#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "console/desk/canvas.hpp"
#include "console/desk/kinds_record.hpp"

/// The record of the chosen kind, opened below the table: keys walk through its entries.
namespace stonecall::desk {

struct OpenedKindState {
  std::string kind;      ///< that was shown last; empty: none
  std::size_t line = 0;  ///< first line shown
  std::string entry;     ///< where the keyboard was left among its lines
  bool bring = false;    ///< what the keyboard went to is still to be brought into sight

  /// The lines, kept while nothing they rest on changes.
  struct Key {
    picture::PicturePtr picture;
    std::shared_ptr<const Proposals> proposals;
    std::string rock, here;
    std::optional<std::string> sample;
    TimeMode clock{};
    bool operator==(const Key&) const = default;
  };
  Key key;
  std::optional<std::vector<RecordLine>> lines;
};

inline constexpr float record_pitch = 20;  ///< design pixels from line to line

/// Screen pixels at which all lines are shown.
float opened_height(const View& view, OpenedKindState& state, const Canvas& canvas,
                    const std::string& rock);

/// From `top` down to the lower edge of the region.
void draw_opened(const View& view, OpenedKindState& state, Canvas& canvas, const std::string& rock,
                 float top, Commands& out);

}  // namespace stonecall::desk
