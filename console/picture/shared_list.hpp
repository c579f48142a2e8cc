#pragma once

#include <cassert>
#include <cstddef>
#include <memory>
#include <utility>
#include <vector>

namespace stonecall::picture {

/// A list that is cheap to copy: copies share their elements, piece by piece, until one of them
/// changes an element or adds one.
template <class T>
class SharedList {
 public:
  std::size_t size() const { return size_; }
  bool empty() const { return size_ == 0; }
  const T& operator[](std::size_t i) const {
    assert(i < size_);
    return (*pieces_[i / per_piece])[i % per_piece];
  }
  const T& back() const { return (*this)[size_ - 1]; }

  /// The element, to be written to.
  T& change(std::size_t i) {
    assert(i < size_);
    return own(i / per_piece)[i % per_piece];
  }
  T& push_back(T value) {
    if (size_ % per_piece == 0) {
      pieces_.push_back(std::make_shared<std::vector<T>>());
      pieces_.back()->reserve(per_piece);
    }
    auto& piece = own(pieces_.size() - 1);
    ++size_;
    return piece.emplace_back(std::move(value));
  }

  /// A copy that shares nothing.
  std::vector<T> plain() const {
    std::vector<T> all;
    all.reserve(size_);
    for (const auto& piece : pieces_) all.insert(all.end(), piece->begin(), piece->end());
    return all;
  }

 private:
  static constexpr std::size_t per_piece = 64;

  std::vector<T>& own(std::size_t piece) {
    auto& held = pieces_[piece];
    if (held.use_count() > 1) {
      auto copy = std::make_shared<std::vector<T>>();
      copy->reserve(per_piece);
      copy->insert(copy->end(), held->begin(), held->end());
      held = std::move(copy);
    }
    return *held;
  }

  std::vector<std::shared_ptr<std::vector<T>>> pieces_;
  std::size_t size_ = 0;
};

}  // namespace stonecall::picture
