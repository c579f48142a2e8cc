#pragma once

#include <string>
#include <vector>

#include "console/picture/gaps.hpp"
#include "console/picture/picture.hpp"

/// Samples in plain words.
namespace stonecall::plates {

/// "14", or where no field number was given "bag 31", or "unnumbered". Names a sample on the desk.
std::string sample_name(const picture::Sample& sample);

/// "lacks the after picture, how deep it sat"; empty for no gaps.
std::string gaps_text(const std::vector<picture::Gap>& gaps);

/// Photographs whose stated direction is not that of their kind, by the sun at the base and the
/// plan's tolerance: "down-sun picture was taken cross-sun (sun 128°, camera 40°)". Without a
/// stated direction nothing is doubted.
std::vector<std::string> photo_doubts(const picture::Sample& sample, const protocol::Plan& plan);

/// What a person should look at: bag or number restated, "bag: 31, later 32".
std::vector<std::string> contradictions(const picture::Sample& sample);

}  // namespace stonecall::plates
