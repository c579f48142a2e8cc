#pragma once

#include <cstdint>
#include <vector>

#include "console/desk/fonts.hpp"
#include "console/desk/heard_filter.hpp"
#include "console/desk/heights.hpp"

namespace stonecall::desk {

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
  Heights& heights() { return heights_; }
  const Heights& heights() const { return heights_; }

 private:
  /// How many lines of the picture before are the same in this one and pass as they did.
  std::size_t unchanged_lines(const picture::PicturePtr& picture, const HeardFilter& filter) const;

  picture::PicturePtr picture_;
  HeardFilter filter_;
  float width_ = 0, scale_ = 0;
  std::vector<std::uint32_t> rows_;
  Heights heights_;
};

}  // namespace stonecall::desk
