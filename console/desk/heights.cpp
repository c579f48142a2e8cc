#include "console/desk/heights.hpp"

#include <bit>
#include <cassert>

namespace stonecall::desk {
namespace {
std::size_t low_bit(std::size_t i) {
  return i & (~i + 1);
}
}  // namespace

void Heights::push_back(double height) {
  heights_.push_back(height);
  std::size_t i = heights_.size();
  tree_.push_back(above(i - 1) - above(i - low_bit(i)) + height);
}

void Heights::resize_down(std::size_t count) {
  assert(count <= size());
  heights_.resize(count);
  tree_.resize(count);
}

void Heights::set(std::size_t row, double height) {
  assert(row < size());
  double change = height - heights_[row];
  if (change == 0) return;
  heights_[row] = height;
  for (std::size_t i = row + 1; i <= tree_.size(); i += low_bit(i)) tree_[i - 1] += change;
}

double Heights::above(std::size_t row) const {
  double sum = 0;
  for (std::size_t i = row; i > 0; i -= low_bit(i)) sum += tree_[i - 1];
  return sum;
}

std::size_t Heights::row_at(double y) const {
  if (heights_.empty()) return 0;
  std::size_t at = 0;
  double rest = y;
  for (std::size_t step = std::bit_floor(size()); step > 0; step /= 2) {
    if (at + step <= size() && tree_[at + step - 1] <= rest) {
      at += step;
      rest -= tree_[at - 1];
    }
  }
  return at < size() ? at : size() - 1;
}

}  // namespace stonecall::desk
