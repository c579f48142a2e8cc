#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

/// A chart as data: what stands where, in which role. Painters turn it into SVG or into a window;
/// builders make it from numbers. Nothing here knows what the numbers are about.
namespace stonecall::charts {

/// Design pixels (at 100 %), x to the right, y down, from the upper left corner of the chart.
struct Point {
  double x = 0, y = 0;
  bool operator==(const Point&) const = default;
};

struct Box {
  double x = 0, y = 0, w = 0, h = 0;

  double right() const { return x + w; }
  double bottom() const { return y + h; }
  bool contains(Point p) const { return p.x >= x && p.x <= right() && p.y >= y && p.y <= bottom(); }
  bool touches(const Box& o) const {
    return x < o.right() && o.x < right() && y < o.bottom() && o.y < bottom();
  }
  bool operator==(const Box&) const = default;
};

/// What a colour is for; the painter's palette says how it looks.
enum class Tone : std::uint8_t {
  ground,    ///< the paper
  panel,     ///< a tinted area
  ink,       ///< data and text
  soft,      ///< second text
  hairline,  ///< rules between rows
  grid,      ///< rules inside a chart
  edge,      ///< outline of an area
  band,      ///< the area of an interval
  done,      ///< what has been, as a bar
  alert,     ///< wants action
  alert_soft,
  link,  ///< the comparison
  count_
};

/// A role, or the colour of the n-th series.
struct Colour {
  Tone tone = Tone::ink;
  std::optional<std::size_t> series{};
  bool operator==(const Colour&) const = default;
};
inline Colour series_colour(std::size_t n) {
  return {Tone::ink, n};
}

enum class Dash : std::uint8_t { solid, dashed, dotted };

struct Stroke {
  Colour colour{};
  double width = 1;
  Dash dash = Dash::solid;
  bool operator==(const Stroke&) const = default;
};

/// Marks that can be told apart without colour.
enum class MarkShape : std::uint8_t {
  circle,
  triangle_up,
  triangle_down,
  square,
  diamond,
  hexagon,
  star,
  plus,
  half_disc,
  count_
};

struct Line {
  Point from{}, to{};
  Stroke stroke{};
  bool operator==(const Line&) const = default;
};

struct Polyline {
  std::vector<Point> points{};
  Stroke stroke{};
  bool operator==(const Polyline&) const = default;
};

/// The area between two curves over the same x, in order of x.
struct Band {
  struct Slice {
    double x = 0, top = 0, bottom = 0;
    bool operator==(const Slice&) const = default;
  };
  std::vector<Slice> slices{};
  Colour fill{Tone::band, {}};
  bool operator==(const Band&) const = default;
};

struct Block {
  Box box{};
  std::optional<Colour> fill{};
  std::optional<Stroke> edge{};
  bool operator==(const Block&) const = default;
};

struct Mark {
  Point at{};
  double size = 9;  ///< width
  MarkShape shape = MarkShape::circle;
  Colour colour{};
  bool hollow = false;                  ///< filled with the paper, for "not", "planned" and places
  std::optional<std::size_t> series{};  ///< shape and colour of the n-th series instead
  bool operator==(const Mark&) const = default;
};

enum class TextSize : std::uint8_t { fine, text };  ///< 12 and 14 px
enum class TextWeight : std::uint8_t { regular, medium, semibold };
enum class Anchor : std::uint8_t { start, middle, end };

struct Label {
  Point at{};  ///< on the baseline, at the end that the anchor names
  std::string text{};
  TextSize size = TextSize::fine;
  TextWeight weight = TextWeight::regular;
  Colour colour{Tone::soft, {}};
  Anchor anchor = Anchor::start;
  bool halo = false;  ///< the paper shows around the letters, over lines
  bool operator==(const Label&) const = default;
};

using Item = std::variant<Line, Polyline, Band, Block, Mark, Label>;

struct Chart {
  double width = 0, height = 0;
  std::string title{};        ///< a few words
  std::string description{};  ///< what the picture says, for those who do not see it
  std::vector<Item> items{};  ///< drawn in this order
  bool operator==(const Chart&) const = default;
};

inline constexpr double pixels(TextSize size) {
  return size == TextSize::fine ? 12 : 14;
}

}  // namespace stonecall::charts
