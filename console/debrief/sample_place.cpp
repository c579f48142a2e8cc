#include "console/debrief/sample_place.hpp"

#include "console/advise/way_back.hpp"
#include "console/estimate/geodesy.hpp"

namespace stonecall::debrief {

std::optional<SamplePlace> place_of(const picture::Sample& sample,
                                    const picture::Picture& picture) {
  if (sample.place) return SamplePlace{*sample.place, false};
  if (!sample.tie || !picture.plan) return std::nullopt;
  const auto from =
      advise::position_of(*picture.plan, sample.tie->to.value_or(picture.plan->base.station));
  if (!from) return std::nullopt;
  const auto end = estimate::walk({from->latitude, from->longitude}, sample.tie->bearing_degrees,
                                  sample.tie->distance_metres);
  return SamplePlace{{end.place.latitude, end.place.longitude, {}}, true};
}

std::chrono::minutes local_offset(const picture::Picture& picture) {
  if (picture.plan) return picture.plan->start.offset;
  return picture.heard.empty() ? std::chrono::minutes(0) : picture.heard.front().event->at.offset;
}

}  // namespace stonecall::debrief
