#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "console/desk/canvas.hpp"

/// The table of kinds: what was bagged of each and documented, when it was first seen, its share.
namespace stonecall::desk {

/// What is shown: as known then, and as known at the end where that is laid beside, with the same
/// kinds in the same order.
class BothTimes {
 public:
  /// Of a view with an assessment, which is referred to. `whole`: of the whole exercise.
  BothTimes(const View& view, bool whole);
  const advise::Ground& then() const { return ordered_ ? *ordered_ : then_; }
  const std::optional<advise::Ground>& end() const { return end_; }

 private:
  const advise::Ground& then_;
  std::optional<advise::Ground> ordered_, end_;
};

/// Kinds of note, or `all`, as places in Ground::kinds; where the end is laid beside those that
/// either time knows, for the others have nothing to compare.
std::vector<std::size_t> rows_of(const BothTimes& known, bool all);

// Design pixels.
inline constexpr float table_head = 20, table_axis = 22, table_gap = 3;
inline constexpr float pitch_at_ease = 23, most_pitch = 32;  ///< from row to row
inline constexpr float least_pitch_of_two = 35;              ///< with the end beside

/// The rows that are shown, and how far apart, in screen pixels.
struct TableRows {
  std::size_t shown = 0;
  float pitch = 0;
  bool two_lines = false;  ///< each with what is known at the end below it
};

/// As many of `all` rows as have room; they stand at most `at_most` apart. Screen pixels.
TableRows rows_within(const Canvas& canvas, bool end_beside, std::size_t all, float room,
                      float at_most);

struct KindsTableState {
  bool all = false;        ///< also kinds of which nothing is known
  std::size_t row = 0;     ///< first row shown, where there is not room for all
  std::size_t hidden = 0;  ///< rows that had no room when it was drawn last
};

/// The table; returns the y below it. `just_chosen`: the chosen kind was another when it was drawn
/// last, and is to be brought into sight.
float draw_kinds_table(const BothTimes& known, const std::vector<std::size_t>& rows,
                       const TableRows& room, bool just_chosen, KindsTableState& state,
                       Canvas& canvas, float top, Commands& out);

/// The table as shown, as tab-separated text with a line saying where and when.
std::string kinds_as_text(const View& view, bool whole, const ClockText& clock);

}  // namespace stonecall::desk
