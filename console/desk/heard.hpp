#pragma once

#include <cstdint>
#include <map>
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
  enum class Show { all, notes, samples, counts, moves, calls, remarks, changes };
  static constexpr int kinds = 8;
  Show show = Show::all;
  std::string speaker;  ///< empty: all
  std::string search;   ///< empty: all; compared without regard to case (ASCII)
  std::string station;  ///< empty: all; else what was said there, or of it
  bool operator==(const HeardFilter&) const = default;
  bool any() const { return *this != HeardFilter{}; }
};

/// A note passes also for what was read from it.
bool passes(const HeardFilter& filter, const picture::HeardLine& line,
            const picture::Picture& picture);

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
  bool bring = false;                          ///< the chosen line, once it is laid out as chosen
  HeardRows rows;
  /// What was done to the chosen line; kept while line and picture are the same.
  std::optional<protocol::Uuid> past_of;
  picture::PicturePtr past_in;
  std::vector<picture::Alteration> past;
  /// Corrections in words, by what they put right and how; kept while the picture is the same.
  std::map<std::pair<protocol::Uuid, std::string>, std::string> corrections;
  picture::PicturePtr corrections_in;
};

Commands draw_heard(const View& view, HeardState& state, Canvas& canvas);
std::span<const KeyLine> heard_keys();

/// Proposals of a note that nobody has accepted, edited or declined.
std::vector<const Proposal*> undecided(const View& view, const picture::HeardLine& line);

/// What stands behind the words of a line: that it was amended, and, where the link is not up, that
/// it has not reached the server yet.
std::string line_aside(const View& view, const picture::HeardLine& line);

/// Asks for the readings that decide a proposal, one for each of its facts: one act.
void decide(const protocol::Uuid& note, const Proposal& proposal, protocol::Outcome outcome,
            Commands& out, std::optional<bool> by_itself = {});

}  // namespace stonecall::desk
