#pragma once

#include <cstddef>
#include <optional>

#include "console/desk/heard_row.hpp"
#include "console/desk/heard_rows.hpp"

/// Where the list of Heard stands: it follows what comes in, or looks back and then stands still,
/// whatever is added.
namespace stonecall::desk {

struct HeardListState {
  bool following = true;       ///< the newest line is kept in sight; false: looking back
  std::size_t seen_lines = 0;  ///< lines there were when looking back began, to count the new ones
  /// The row at the upper edge while looking back: its event, and how far it is cut off.
  std::optional<protocol::Uuid> anchor;
  float cut = 0;
  std::size_t anchor_row = 0, chosen_row = 0;  ///< where they were last; looked at first
  HeardRows rows;

  // What was done to the chosen line; kept while line and picture are the same.
  std::optional<protocol::Uuid> past_of;
  picture::PicturePtr past_in;
  std::vector<picture::Alteration> past;
  LookedUp looked_up;
};

/// The list in one frame. Rows are measured as far as they are looked at; heights of the others are
/// estimates. Not to be asked for anything but `empty` where no line passes the filter.
class HeardList {
 public:
  HeardList(const View& view, const HeardFilter& filter, HeardListState& state,
            const Canvas& canvas, Rect place);

  std::size_t size() const { return state_.rows.size(); }
  bool empty() const { return size() == 0; }
  const picture::HeardLine& line(std::size_t row) const;
  const HeardColumns& columns() const { return columns_; }

  HeardRow measured(std::size_t row);
  /// The row of an event; `last_known` is looked at first, and kept.
  std::optional<std::size_t> row_of(const protocol::Uuid& event, std::size_t& last_known) const;

  // Screen pixels, from the upper edge of the first row.
  double high() const { return high_; }      ///< of the part in sight
  double scroll() const { return scroll_; }  ///< where it begins; negative: the list is shorter
  double total() const { return state_.rows.heights().total(); }
  double top_of(std::size_t row) const { return state_.rows.heights().above(row); }
  std::size_t row_at(double y) const { return state_.rows.heights().row_at(y); }

  /// Whether any of it is.
  bool in_sight(std::size_t row) const {
    return top_of(row) < scroll_ + high_ && top_of(row + 1) > scroll_;
  }

  /// At the end it follows again.
  void move_to(double scroll);
  /// Into sight, with the least movement.
  void bring(std::size_t row);

 private:
  void measure_end();

  const View& view_;
  HeardListState& state_;
  const Canvas& canvas_;
  const HeardColumns columns_;
  const double high_;
  double scroll_ = 0;
};

}  // namespace stonecall::desk
