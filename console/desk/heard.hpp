#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "console/desk/heights.hpp"
#include "console/desk/region.hpp"
#include "console/picture/alterations.hpp"

namespace stonecall::desk {

/// Which lines of Heard are shown.
struct HeardFilter {
  enum class Show { all, notes, samples, counts, moves, calls };
  Show show = Show::all;
  std::string speaker;  ///< empty: all
  std::string search;   ///< empty: all; compared without regard to case (ASCII)
  bool operator==(const HeardFilter&) const = default;
  bool any() const { return *this != HeardFilter{}; }
};

bool passes(const HeardFilter& filter, const picture::HeardLine& line);

/// The lines that pass, and how high each is. Kept between frames and only extended while lines are
/// added at the end.
class HeardRows {
 public:
  /// Brings the rows up to date with the picture. Cheap where it is the same picture, or where
  /// lines were added.
  void follow(const picture::PicturePtr& picture, const HeardFilter& filter, float text_width,
              const Fonts& fonts);

  std::size_t size() const { return rows_.size(); }
  std::uint32_t line(std::size_t row) const { return rows_[row]; }  ///< index into Picture::heard
  std::optional<std::size_t> row_of(std::uint32_t line) const;
  Heights& heights() { return heights_; }
  const Heights& heights() const { return heights_; }

 private:
  picture::PicturePtr picture_;
  HeardFilter filter_;
  float width_ = 0, scale_ = 0;
  std::vector<std::uint32_t> rows_;
  Heights heights_;
};

struct HeardState {
  HeardFilter filter;
  bool searching = false;      ///< the search line is open
  bool take_keyboard = false;  ///< put the cursor there
  bool typing = false;         ///< it has the keyboard
  bool following = true;       ///< the newest line is kept in sight; false: looking back
  std::size_t seen_lines = 0;  ///< lines there were when looking back began, to count the new ones
  /// While looking back the row at the upper edge stands still, whatever is added: its event, and
  /// how far it is cut off.
  std::optional<protocol::Uuid> anchor;
  float cut = 0;
  std::size_t anchor_row = 0, chosen_row = 0;  ///< where they were last; looked at first
  std::size_t picked = 0;                      ///< which proposal of the chosen line
  std::optional<protocol::Uuid> show;          ///< bring this one into sight
  HeardRows rows;
  /// What was done to the chosen line; kept while line and picture are the same.
  std::optional<protocol::Uuid> past_of;
  picture::PicturePtr past_in;
  std::vector<picture::Alteration> past;
};

Commands draw_heard(const View& view, HeardState& state, Canvas& canvas);
std::span<const KeyLine> heard_keys();

/// Proposals of a note that nobody has accepted, edited or declined.
std::vector<const Proposal*> undecided(const View& view, const picture::HeardLine& line);

}  // namespace stonecall::desk
