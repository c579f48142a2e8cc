#pragma once

#include <string>
#include <string_view>
#include <unordered_map>

#include "console/charts/chart.hpp"
#include "console/debrief/look_back.hpp"
#include "console/debrief/markup.hpp"
#include "console/plates/count_text.hpp"

namespace stonecall::debrief {

/// What every section of the report writes with: times in words, kinds with their glyphs, charts
/// with ids of their own.
class Pen {
 public:
  explicit Pen(const Debrief& debrief);

  /// "1:12", hours and minutes from the start.
  std::string elapsed(Instant at) const;
  /// Words whose moments are counted from `start`, by this clock.
  std::string told(const advise::Telling& words, Instant start) const;
  /// What times are counted from: "the planned start", or where there is no plan "the first word of
  /// the log".
  std::string counted_from() const;
  /// "9 June 2027", local.
  std::string date() const;
  /// "08:30 (UTC+04:00)", local.
  std::string local(Instant at) const;

  /// A kind with the glyph it has in all charts; "not named" for none.
  Markup kind(const std::string& rock) const;
  std::optional<std::size_t> series(const std::string& rock) const;

  /// The chart as a figure, with a caption below where there is one.
  Markup figure(const charts::Chart& chart, const Markup& caption = {});

  /// The chart alone, within text that says all that it shows.
  Markup drawing(const charts::Chart& chart) const;

  /// The glyphs that `kind` refers to; stands once on the page.
  Markup glyphs() const;

 private:
  Instant start_;
  std::chrono::minutes offset_;
  bool planned_;
  std::unordered_map<std::string, std::size_t> series_;
  int figures_ = 0;
};

/// Width of the page's column, in pixels: what A4 leaves between margins of 16 mm.
inline constexpr double column_width = 672;

using plates::count;
/// What the rocks were counted in: "3 looks", "3 looks and 1 unselective sample".
std::string counted_in(const advise::Basis& basis);
/// "12 min", of a span or of minutes; rounded, "under a minute" below one half.
std::string minutes_text(double minutes);
std::string minutes_text(Milliseconds span);
/// "a", "a and b", "a, b and c".
std::string listed(const std::vector<std::string>& words);

}  // namespace stonecall::debrief
