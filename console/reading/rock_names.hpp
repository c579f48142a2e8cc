#pragma once

#include <span>
#include <string_view>

namespace stonecall::reading {

/// A built-in kind: its name and, parted by '|', other words for it.
struct BuiltInRock {
  std::string_view name;
  std::string_view spoken;
};

/// Kinds after the CGI/IUGS Simple Lithology vocabulary (Commission for the Management and
/// Application of Geoscience Information of the International Union of Geological Sciences). The
/// choice is ours: single kinds that are named in the field, not its group terms ("acidic igneous
/// material"), nor loose ground (sand, gravel, mud), which a party says of the ground and not of a
/// rock. Listed from memory; spoken forms are common practice, no source.
std::span<const BuiltInRock> built_in_rocks();

/// What speech recognisers write for the name of a rock: {"bass salt", "basalt"}. From memory, no
/// source.
struct SoundsLike {
  std::string_view heard;
  std::string_view word;
};
std::span<const SoundsLike> sound_alikes();

/// Everyday words that sound like a kind: {"nice", "gneiss"}. They stand for it only where nothing
/// but a kind can stand ("forty percent nice"). From memory, no source.
std::span<const SoundsLike> everyday_alikes();

/// English words one or two letters away from a word that we know, which must not be taken for it
/// ("simple" is no sample, "granted" no granite). Sorted.
std::span<const std::string_view> look_alikes();

}  // namespace stonecall::reading
