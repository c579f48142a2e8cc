#pragma once

#include <string_view>
#include <vector>

#include "console/picture/picture.hpp"

namespace stonecall::picture {

/// What a documented sample still lacks. The order is the order of urgency at the place.
enum class Gap {
  stereo_pair,
  down_sun,
  after,
  buried,
  relation,
  like_it,
  picked,
  tie,
  bag,
  rock,
  size,
  shape,
  colour,
  texture,
  description
};

/// Empty for a fully documented sample.
std::vector<Gap> gaps(const Sample& sample, const protocol::Documentation& standard);

/// Plain words: "stereo pair", "how deep it sat".
std::string_view words(Gap gap);

/// True for what cannot be made up once the party has left: pictures of the place, burial,
/// relations, the tie, the share of rocks like it. False for what the rock in hand still shows
/// (common practice, no source).
bool only_there(Gap gap);

/// A sample is tied to base by coordinates or by bearing and distance.
bool is_tied(const Sample& sample);

}  // namespace stonecall::picture
