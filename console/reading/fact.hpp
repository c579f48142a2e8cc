#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>

namespace stonecall::reading {

/// Part of a note's text: [begin, end) in bytes.
struct Words {
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
  bool operator==(const Words&) const = default;
};

/// What people mean by an amount: percent, 0 ≤ low ≤ best ≤ high ≤ 100.
struct Portion {
  double low = 0;
  double high = 100;
  double best = 50;
  bool operator==(const Portion&) const = default;
};

enum class What { arrive, leave, sample, question };
enum class Picture { stereo, down_sun, after };
enum class Changed { bag, sample_number, rock, station };
enum class Trait { colour, texture, shape, picked, relation };

/// The party is now at a station; goes; has picked up or bagged a rock; asks the back room
/// something.
struct Happened {
  What what = What::arrive;
  bool operator==(const Happened&) const = default;
};

/// The station of an arrival or a departure. Not said: taken from what was known before the note.
struct AtStation {
  std::string station;
  bool said = true;
  bool operator==(const AtStation&) const = default;
};

struct FieldNumber {
  std::string digits;  ///< without leading zeros
  bool operator==(const FieldNumber&) const = default;
};

struct BagNumber {
  std::string digits;  ///< without leading zeros
  bool operator==(const BagNumber&) const = default;
};

/// A kind of rock, by its name in the plan, or by its built-in name when the plan does not list it.
struct RockHere {
  std::string rock;
  bool planned = true;
  bool operator==(const RockHere&) const = default;
};

/// A kind that is not here, or was not seen so far.
struct RockAbsent {
  std::string rock;
  bool planned = true;
  bool operator==(const RockAbsent&) const = default;
};

struct RockShare {
  std::string rock;
  Portion percent;
  bool planned = true;
  bool operator==(const RockShare&) const = default;
};

struct RockCounted {
  std::string rock;
  int count = 0;
  bool planned = true;
  bool operator==(const RockCounted&) const = default;
};

struct RocksLookedAt {
  int total = 0;
  bool operator==(const RocksLookedAt&) const = default;
};

struct PhotoTaken {
  Picture picture = Picture::after;
  bool operator==(const PhotoTaken&) const = default;
};

/// Longest dimension of the rock picked or described.
struct LongestSide {
  double mm = 0;
  bool operator==(const LongestSide&) const = default;
};

/// How much of the rock was under the surface.
struct BuriedPart {
  Portion percent;
  bool operator==(const BuriedPart&) const = default;
};

/// An earlier note is put right.
struct PutRight {
  Changed what = Changed::bag;
  std::string to;
  std::optional<std::string> sample;  ///< field number of the sample it is said of
  bool operator==(const PutRight&) const = default;
};

/// Said of the rock in free words.
struct Described {
  Trait trait = Trait::colour;
  std::string words;
  bool operator==(const Described&) const = default;
};

using Fact = std::variant<Happened, AtStation, FieldNumber, BagNumber, RockHere, RockAbsent,
                          RockShare, RockCounted, RocksLookedAt, PhotoTaken, LongestSide,
                          BuriedPart, PutRight, Described>;

/// One fact that a note may state. A person accepts it, edits it or declines it.
struct Proposal {
  Fact fact;
  Words words;          ///< what it was read from
  double sureness = 1;  ///< 0–1; our own ranking, not a frequency
  bool operator==(const Proposal&) const = default;
};

}  // namespace stonecall::reading
