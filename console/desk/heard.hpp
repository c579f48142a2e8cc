#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "console/desk/heard_heading.hpp"
#include "console/desk/heard_list.hpp"
#include "console/desk/region.hpp"

namespace stonecall::desk {

/// All that was said and done, line by line, to be read, searched, decided and put right.
struct HeardState {
  HeardFilter filter;
  HeardSearch search;
  HeardListState list;
  std::size_t picked = 0;              ///< which proposal of the chosen line
  std::optional<protocol::Uuid> show;  ///< bring this one into sight
  bool bring = false;                  ///< the chosen line, once it is laid out as chosen
};

Commands draw_heard(const View& view, HeardState& state, Canvas& canvas);
std::span<const KeyLine> heard_keys();

}  // namespace stonecall::desk
