#include "console/plates/sample_text.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "console/estimate/sun.hpp"

namespace stonecall::plates {
namespace {

std::string_view words(estimate::Lighting lighting) {
  switch (lighting) {
    case estimate::Lighting::down_sun:
      return "down-sun";
    case estimate::Lighting::cross_sun:
      return "cross-sun";
    case estimate::Lighting::up_sun:
      return "up-sun";
    case estimate::Lighting::between:
      return "neither down-sun nor cross-sun";
    case estimate::Lighting::no_sun:
      return "without sun";
  }
  return "";
}

/// How a view must be lit; none where it does not matter.
std::optional<estimate::Lighting> lighting_of(protocol::View view) {
  switch (view) {
    case protocol::View::stereo_pair:
    case protocol::View::stereo_left:
    case protocol::View::stereo_right:
      return estimate::Lighting::cross_sun;
    case protocol::View::down_sun:
      return estimate::Lighting::down_sun;
    case protocol::View::after:
      return std::nullopt;
  }
  return std::nullopt;
}

estimate::Lighting lighting_of(const picture::PhotoTaken& photo, const protocol::Plan& plan,
                               double& sun_azimuth) {
  auto sun = estimate::sun_position(photo.origin.at,
                                    {plan.base.position.latitude, plan.base.position.longitude});
  sun_azimuth = sun.azimuth;
  return estimate::lighting(sun, *photo.direction_degrees, plan.method.sun_tolerance_degrees);
}

/// The pictures of a sample that serve one gap, and how each was lit.
std::string photos_text(const picture::Sample& sample, picture::Gap gap,
                        const protocol::Plan* plan) {
  using protocol::View;
  std::string text;
  for (const auto& photo : sample.photos) {
    const picture::Gap serves = photo.view == View::down_sun ? picture::Gap::down_sun
                                : photo.view == View::after  ? picture::Gap::after
                                                             : picture::Gap::stereo_pair;
    if (serves != gap) continue;
    std::string each = photo.view == View::stereo_left    ? "left half"
                       : photo.view == View::stereo_right ? "right half"
                                                          : "taken";
    if (photo.direction_degrees && plan) {
      double sun = 0;
      auto lit = lighting_of(photo, *plan, sun);
      each += fmt::format(" {} (sun {:.0f}°, camera {:.0f}°)", words(lit), sun,
                          *photo.direction_degrees);
    } else if (lighting_of(photo.view)) {
      each += ", direction not told";
    }
    text += (text.empty() ? "" : ", ") + each;
  }
  return text;
}

std::string percent_text(const std::optional<protocol::PercentRange>& range) {
  if (!range) return {};
  return range->low == range->high ? fmt::format("{:g} %", range->low)
                                   : fmt::format("{:g}–{:g} %", range->low, range->high);
}

std::string tie_text(const picture::Sample& sample) {
  if (sample.tie)
    return fmt::format("{:g} m at {:g}° from {}", sample.tie->distance_metres,
                       sample.tie->bearing_degrees, sample.tie->to.value_or("base"));
  return sample.place ? "by coordinates" : "";
}

std::string stands(const picture::Sample& sample, picture::Gap gap, const protocol::Plan* plan) {
  using picture::Gap;
  switch (gap) {
    case Gap::stereo_pair:
    case Gap::down_sun:
    case Gap::after:
      return photos_text(sample, gap, plan);
    case Gap::buried:
      return percent_text(sample.buried);
    case Gap::relation:
      return sample.relation;
    case Gap::like_it:
      return percent_text(sample.like_it);
    case Gap::picked:
      return sample.picked;
    case Gap::tie:
      return tie_text(sample);
    case Gap::bag:
      return sample.bag;
    case Gap::rock:
      return sample.rock;
    case Gap::size:
      return sample.size_mm ? fmt::format("{:g} mm", *sample.size_mm) : "";
    case Gap::shape:
      return sample.shape;
    case Gap::colour:
      return sample.colour;
    case Gap::texture:
      return sample.texture;
    case Gap::description:
      return sample.description;
  }
  return "";
}

}  // namespace

std::vector<ChecklistItem> checklist(const picture::Sample& sample, const protocol::Plan* plan) {
  const protocol::Documentation standard = plan ? plan->documentation : protocol::Documentation{};
  const auto missing = picture::gaps(sample, standard);
  std::vector<ChecklistItem> items;
  // A sample of which nothing is known lacks all that is asked.
  for (picture::Gap gap : picture::gaps({}, standard)) {
    std::string text = stands(sample, gap, plan);
    items.push_back({picture::words(gap), text.empty() ? "–" : std::move(text),
                     std::ranges::find(missing, gap) != missing.end()});
  }
  return items;
}

std::string sample_name(const picture::Sample& sample) {
  if (!sample.number.empty()) return sample.number;
  return sample.bag.empty() ? "unnumbered" : "bag " + sample.bag;
}

std::string gaps_text(const std::vector<picture::Gap>& gaps) {
  std::string text;
  for (picture::Gap gap : gaps)
    text += (text.empty() ? "lacks " : ", ") + std::string(picture::words(gap));
  return text;
}

std::vector<std::string> photo_doubts(const picture::Sample& sample, const protocol::Plan& plan) {
  std::vector<std::string> doubts;
  for (const auto& photo : sample.photos) {
    auto wanted = lighting_of(photo.view);
    if (!photo.direction_degrees || !wanted) continue;
    double sun = 0;
    auto lit = lighting_of(photo, plan, sun);
    if (lit == *wanted) continue;
    std::string_view view = photo.view == protocol::View::down_sun ? "down-sun" : "stereo";
    doubts.push_back(fmt::format("{} picture was taken {} (sun {:.0f}°, camera {:.0f}°)", view,
                                 words(lit), sun, *photo.direction_degrees));
  }
  return doubts;
}

std::vector<std::string> contradictions(const picture::Sample& sample) {
  std::vector<std::string> lines;
  for (const auto& c : sample.contradictions)
    lines.push_back(fmt::format("{}: {}, later {}", c.member, c.before, c.after));
  return lines;
}

}  // namespace stonecall::plates
