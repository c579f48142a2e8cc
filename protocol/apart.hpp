#pragma once

#include <concepts>
#include <optional>
#include <utility>

#include <boost/smart_ptr/intrusive_ptr.hpp>
#include <boost/smart_ptr/intrusive_ref_counter.hpp>

namespace stonecall::protocol {

/// An optional value that is kept apart: no larger than a pointer where it lies, so that what is
/// seldom said takes no room in the thousands of events that do not say it. Copies share the value,
/// which is only read; emplace() and change() make one of their own.
template <class T>
class Apart {
 public:
  Apart() = default;
  Apart(std::nullopt_t) {}  // NOLINT(google-explicit-constructor): as std::optional
  template <class U = T>
  requires(std::constructible_from<T, U> && !std::same_as<std::remove_cvref_t<U>, Apart> &&
           !std::same_as<std::remove_cvref_t<U>, std::optional<T>>)
      Apart(U&& value)  // NOLINT(google-explicit-constructor): as std::optional
      : held_(new Held(std::forward<U>(value))) {}
  Apart(std::optional<T> value) {  // NOLINT(google-explicit-constructor)
    if (value) held_.reset(new Held(std::move(*value)));
  }

  bool has_value() const { return held_ != nullptr; }
  explicit operator bool() const { return has_value(); }
  const T& operator*() const { return held_->value; }
  const T* operator->() const { return &held_->value; }
  T value_or(T other) const { return held_ ? held_->value : std::move(other); }
  operator std::optional<T>() const {  // NOLINT(google-explicit-constructor)
    return held_ ? std::optional<T>(held_->value) : std::nullopt;
  }

  void reset() { held_.reset(); }
  template <class... Of>
  T& emplace(Of&&... of) {
    held_.reset(new Held(std::forward<Of>(of)...));
    return held_->value;
  }
  /// The value there is, to be written to.
  T& change() { return emplace(held_->value); }

  friend bool operator==(const Apart& a, const Apart& b) {
    return a.held_ == b.held_ || (a.held_ && b.held_ && a.held_->value == b.held_->value);
  }
  template <class U>
  requires(!std::same_as<U, Apart> && !std::same_as<U, std::nullopt_t>) friend bool operator==(
      const Apart& a, const U& b) {
    return a.held_ && a.held_->value == b;
  }
  friend bool operator==(const Apart& a, std::nullopt_t) { return !a.held_; }

 private:
  struct Held : boost::intrusive_ref_counter<Held> {
    template <class... Of>
    explicit Held(Of&&... of) : value(std::forward<Of>(of)...) {}
    T value;
  };
  boost::intrusive_ptr<Held> held_;
};

}  // namespace stonecall::protocol
