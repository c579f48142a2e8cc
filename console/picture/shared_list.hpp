#pragma once

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <initializer_list>
#include <iterator>
#include <memory>
#include <utility>
#include <vector>

#include <boost/stl_interfaces/iterator_interface.hpp>

namespace stonecall::picture {

/// A list that is cheap to copy: copies share their elements, piece by piece, until one of them
/// changes an element or adds one. Read like a vector; a copy may be read on another thread while
/// the list it was taken from goes on.
template <class T>
class SharedList {
 public:
  class const_iterator
      : public boost::stl_interfaces::iterator_interface<
            const_iterator, std::random_access_iterator_tag, T, const T&, const T*> {
   public:
    const_iterator() = default;
    const T& operator*() const { return (*list_)[at_]; }
    const_iterator& operator+=(std::ptrdiff_t n) {
      at_ += static_cast<std::size_t>(n);
      return *this;
    }
    std::ptrdiff_t operator-(const_iterator other) const {
      return static_cast<std::ptrdiff_t>(at_) - static_cast<std::ptrdiff_t>(other.at_);
    }

   private:
    friend SharedList;
    const_iterator(const SharedList& list, std::size_t at) : list_(&list), at_(at) {}

    const SharedList* list_ = nullptr;
    std::size_t at_ = 0;
  };
  using value_type = T;
  using iterator = const_iterator;

  SharedList() = default;
  SharedList(std::initializer_list<T> elements) {
    for (const T& each : elements) push_back(each);
  }
  template <std::input_iterator First, std::sentinel_for<First> Last>
  SharedList(First first, Last last) {
    for (; first != last; ++first) push_back(*first);
  }
  SharedList(const SharedList& other) : pieces_(other.pieces_), size_(other.size_) {
    // Both may be written to; neither may write to what both hold.
    if (!other.own_.empty()) other.own_.clear();
  }
  SharedList& operator=(const SharedList& other) {
    if (this != &other) *this = SharedList(other);
    return *this;
  }
  SharedList(SharedList&& other) noexcept
      : pieces_(std::exchange(other.pieces_, {})),
        own_(std::exchange(other.own_, {})),
        size_(std::exchange(other.size_, 0)) {}
  SharedList& operator=(SharedList&& other) noexcept {
    pieces_ = std::exchange(other.pieces_, {});
    own_ = std::exchange(other.own_, {});
    size_ = std::exchange(other.size_, 0);
    return *this;
  }
  ~SharedList() = default;

  std::size_t size() const { return size_; }
  bool empty() const { return size_ == 0; }
  const T& operator[](std::size_t i) const {
    assert(i < size_);
    return (*pieces_[i / per_piece])[i % per_piece];
  }
  const T& front() const { return (*this)[0]; }
  const T& back() const { return (*this)[size_ - 1]; }

  const_iterator begin() const { return {*this, 0}; }
  const_iterator end() const { return {*this, size_}; }
  auto rbegin() const { return std::make_reverse_iterator(end()); }
  auto rend() const { return std::make_reverse_iterator(begin()); }

  /// The element, to be written to.
  T& change(std::size_t i) {
    assert(i < size_);
    return own(i / per_piece)[i % per_piece];
  }
  T& push_back(T value) {
    if (size_ % per_piece == 0) {
      own_.push_back(pieces_.size());
      pieces_.push_back(std::make_shared<std::vector<T>>());
    }
    auto& piece = own(pieces_.size() - 1);
    ++size_;
    return piece.emplace_back(std::move(value));
  }

  bool operator==(const SharedList& other) const {
    return size_ == other.size_ &&
           std::equal(pieces_.begin(), pieces_.end(), other.pieces_.begin(),
                      [](const auto& a, const auto& b) { return a == b || *a == *b; });
  }

 private:
  /// A piece is about a page of memory: what one change copies, and what a thousand copies share.
  static constexpr std::size_t per_piece = std::max<std::size_t>(4, 4096 / sizeof(T));

  std::vector<T>& own(std::size_t piece) {
    auto& held = pieces_[piece];
    // Most writing is at the end: what was made ours last is looked at first.
    if (std::find(own_.rbegin(), own_.rend(), piece) == own_.rend()) {
      held = std::make_shared<std::vector<T>>(*held);
      own_.push_back(piece);
    }
    return *held;
  }

  std::vector<std::shared_ptr<std::vector<T>>> pieces_;
  /// Pieces that no copy holds. Kept here rather than asked of the pointers: a count of holders
  /// that falls to one on another thread does not say that its reading has come to an end.
  mutable std::vector<std::size_t> own_;
  std::size_t size_ = 0;
};

}  // namespace stonecall::picture
