#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include <tl/expected.hpp>

namespace stonecall::estimate {

/// Why there is no figure. Shown to a person in the figure's place, so that a NaN never is.
enum class NoBasis {
  nothing_counted,   ///< no unselective count: ask for a tally
  too_few_counted,   ///< one rock says nothing about the next
  too_few_looks,     ///< the figure compares looks and needs two
  all_seen_once,     ///< every rare kind was seen once: there is no end in sight to estimate
  outside_the_data,  ///< asked for beyond what the counts hold, e.g. rarefying to more than were
                     ///< counted
  no_prior,          ///< neither record nor plan says anything of this pace
  not_possible,      ///< an input outside its range: a count below zero, a share above one
};

std::string_view to_string(NoBasis reason);

/// A figure, or the reason why there is none.
template <class T>
using Estimate = tl::expected<T, NoBasis>;

/// Rocks counted of each kind; zeros are kinds named but not met.
using Counts = std::span<const std::int64_t>;

/// Whether a number can be a count, a time or another amount: neither below 0 nor infinite.
bool is_amount(double x);

/// Both ends belong to it.
struct Interval {
  double lower = 0;
  double upper = 1;

  bool operator==(const Interval&) const = default;
};

struct WithError {
  double value = 0;
  double standard_error = 0;
};

/// Confidence of the intervals that are shown, unless the reader asks for another.
inline constexpr double shown_confidence = 0.90;

}  // namespace stonecall::estimate
