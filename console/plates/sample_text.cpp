#include "console/plates/sample_text.hpp"

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

}  // namespace

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
    auto sun = estimate::sun_position(photo.origin.at,
                                      {plan.base.position.latitude, plan.base.position.longitude});
    auto lit = estimate::lighting(sun, *photo.direction_degrees, plan.method.sun_tolerance_degrees);
    if (lit == *wanted) continue;
    std::string_view view = photo.view == protocol::View::down_sun ? "down-sun" : "stereo";
    doubts.push_back(fmt::format("{} picture was taken {} (sun {:.0f}°, camera {:.0f}°)", view,
                                 words(lit), sun.azimuth, *photo.direction_degrees));
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
