#pragma once

#include <cstddef>
#include <vector>

namespace stonecall::desk {

/// Heights of many rows of unequal height, of which most are only estimated: a Fenwick tree, so
/// that correcting one height, the sum above a row and the row at a height each cost the logarithm
/// of their number.
class Heights {
 public:
  void clear() {
    tree_.clear();
    heights_.clear();
  }
  std::size_t size() const { return heights_.size(); }
  void push_back(double height);
  void resize_down(std::size_t count);  ///< forgets rows from `count` on
  void set(std::size_t row, double height);
  double height(std::size_t row) const { return heights_[row]; }
  double above(std::size_t row) const;  ///< sum of the rows before `row`; row = size(): of all
  double total() const { return above(size()); }
  /// The row that covers `y`; the first for y < 0, the last (or 0 where there is none) past the
  /// end.
  std::size_t row_at(double y) const;

 private:
  std::vector<double> tree_;  ///< tree_[i] holds the sum of the rows (i + 1 − lowbit(i + 1), i + 1]
  std::vector<double> heights_;
};

}  // namespace stonecall::desk
