#include "console/picture/gaps.hpp"

#include <algorithm>

namespace stonecall::picture {
namespace {

bool photographed(const Sample& sample, protocol::View view) {
  using protocol::View;
  const auto has = [&](View each) {
    return std::ranges::find(sample.photos, each, &PhotoTaken::view) != sample.photos.end();
  };
  if (has(view)) return true;
  switch (view) {
    case View::stereo_pair:
      return has(View::stereo_left) && has(View::stereo_right);
    case View::stereo_left:
    case View::stereo_right:
      return has(View::stereo_pair);
    default:
      return false;
  }
}

bool described(const Sample& sample, protocol::Description what) {
  using protocol::Description;
  switch (what) {
    case Description::buried:
      return sample.buried.has_value();
    case Description::picked:
      return !sample.picked.empty();
    case Description::relation:
      return !sample.relation.empty();
    case Description::like_it:
      return sample.like_it.has_value();
    case Description::size:
      return sample.size_mm.has_value();
    case Description::shape:
      return !sample.shape.empty();
    case Description::colour:
      return !sample.colour.empty();
    case Description::texture:
      return !sample.texture.empty();
    case Description::description:
      return !sample.description.empty();
  }
  return true;
}

Gap gap_of(protocol::View view) {
  switch (view) {
    case protocol::View::down_sun:
      return Gap::down_sun;
    case protocol::View::after:
      return Gap::after;
    default:
      return Gap::stereo_pair;
  }
}

Gap gap_of(protocol::Description what) {
  using protocol::Description;
  switch (what) {
    case Description::buried:
      return Gap::buried;
    case Description::picked:
      return Gap::picked;
    case Description::relation:
      return Gap::relation;
    case Description::like_it:
      return Gap::like_it;
    case Description::size:
      return Gap::size;
    case Description::shape:
      return Gap::shape;
    case Description::colour:
      return Gap::colour;
    case Description::texture:
      return Gap::texture;
    case Description::description:
      break;
  }
  return Gap::description;
}

}  // namespace

bool is_tied(const Sample& sample) {
  return sample.place.has_value() || sample.tie.has_value();
}

std::vector<Gap> gaps(const Sample& sample, const protocol::Documentation& standard) {
  std::vector<Gap> missing;
  for (const auto view : standard.views) {
    if (!photographed(sample, view)) missing.push_back(gap_of(view));
  }
  for (const auto what : standard.describes) {
    if (!described(sample, what)) missing.push_back(gap_of(what));
  }
  if (standard.tie && !is_tied(sample)) missing.push_back(Gap::tie);
  if (standard.bag && sample.bag.empty()) missing.push_back(Gap::bag);
  if (sample.rock.empty()) missing.push_back(Gap::rock);
  std::ranges::sort(missing);
  missing.erase(std::ranges::unique(missing).begin(), missing.end());
  return missing;
}

std::string_view words(Gap gap) {
  switch (gap) {
    case Gap::stereo_pair:
      return "stereo pair";
    case Gap::down_sun:
      return "down-sun picture";
    case Gap::after:
      return "picture of the place after";
    case Gap::buried:
      return "how deep it sat";
    case Gap::relation:
      return "how it relates to its neighbours";
    case Gap::like_it:
      return "how much of the ground is like it";
    case Gap::picked:
      return "why it was picked";
    case Gap::tie:
      return "where it lay";
    case Gap::bag:
      return "bag number";
    case Gap::rock:
      return "rock kind";
    case Gap::size:
      return "size";
    case Gap::shape:
      return "shape";
    case Gap::colour:
      return "colour";
    case Gap::texture:
      return "texture";
    case Gap::description:
      return "description";
  }
  return "";
}

bool only_there(Gap gap) {
  return gap <= Gap::tie;
}

}  // namespace stonecall::picture
