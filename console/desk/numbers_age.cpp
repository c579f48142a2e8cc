#include "console/desk/numbers_age.hpp"

#include <fmt/format.h>

namespace stonecall::desk {

bool outdated(const View& view) {
  if (!view.assessment) return false;
  if (view.assessed != view.picture) return true;
  auto apart = view.now > view.assessment->now ? view.now - view.assessment->now
                                               : view.assessment->now - view.now;
  return apart > 2 * numbers_hold_for;
}

std::string outdated_words(const View& view, const ClockText& clock) {
  if (!outdated(view)) return {};
  std::string words = "as of " + clock.seconds(view.assessment->now) + ", ";
  std::size_t known = view.picture ? view.picture->events : 0;
  if (known <= view.assessment->events) return words + "being worked out anew";
  std::size_t newer = known - view.assessment->events;
  return words + fmt::format("{} newer event{} not in it yet", newer, newer == 1 ? "" : "s");
}

}  // namespace stonecall::desk
