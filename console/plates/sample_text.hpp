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

/// One thing that the plan's documentation asks of a sample.
struct ChecklistItem {
  std::string_view what;  ///< "down-sun picture"
  std::string stands;  ///< "down-sun (sun 128°, camera 308°)", "bag 31"; what is lacking: "–"
  bool missing = false;
  bool operator==(const ChecklistItem&) const = default;
};

/// All that is asked of a sample, in the order of urgency at the place, whether it is there or not.
/// A picture whose direction was stated says how it was lit, by the sun at the plan's base. Without
/// a plan the common standard is asked.
std::vector<ChecklistItem> checklist(const picture::Sample& sample, const protocol::Plan* plan);

/// Photographs whose stated direction is not that of their kind, by the sun at the base and the
/// plan's tolerance: "down-sun picture was taken cross-sun (sun 128°, camera 40°)". Without a
/// stated direction nothing is doubted.
std::vector<std::string> photo_doubts(const picture::Sample& sample, const protocol::Plan& plan);

/// What a person should look at: bag or number restated, "bag: 31, later 32".
std::vector<std::string> contradictions(const picture::Sample& sample);

}  // namespace stonecall::plates
