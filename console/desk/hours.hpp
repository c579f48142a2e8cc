#pragma once

#include <optional>
#include <span>
#include <vector>

#include "console/desk/region.hpp"

namespace stonecall::desk {

struct HoursState {
  bool dragging = false;  ///< the ruler is being scrubbed

  // Found by looking at every event, so only once a picture.
  picture::PicturePtr picture;
  std::vector<picture::Outage> outages;
  // Walked through by the plan's pace where the plan does not say it, so only once a picture too.
  picture::PicturePtr planned_in;
  std::vector<protocol::Milliseconds> planned;  ///< arrivals at the plan's stations, elapsed
};

/// Instants on the ruler against pixels.
struct Ruler {
  protocol::Instant begin{}, end{};
  float x0 = 0, x1 = 1;

  float x(protocol::Instant at) const;
  protocol::Instant at(float x) const;  ///< within begin and end
};

/// The whole exercise: planned start to planned end, and what was recorded beyond either.
Ruler ruler_for(const View& view, float x0, float x1);

/// The nearest moment of this kind after (before) `now`; none: nothing to jump to.
std::optional<protocol::Instant> landmark_from(const std::vector<Landmark>& landmarks,
                                               Landmark::Kind kind, protocol::Instant now,
                                               bool forward);

/// "link lost since 1:12:40, 2 wait to go out"; empty while all is well.
std::string link_words(const View& view, const ClockText& clock, bool brief = false);

/// `compact`, `words_below`: as in Layout.
Commands draw_hours(const View& view, HoursState& state, Canvas& canvas, bool compact,
                    bool words_below);
std::span<const KeyLine> hours_keys();

}  // namespace stonecall::desk
