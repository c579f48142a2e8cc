#include "console/charts/mark.hpp"

#include <cmath>
#include <numbers>

namespace stonecall::charts {
namespace {

std::vector<Point> regular(int corners, double radius) {
  std::vector<Point> points;
  for (int i = 0; i < corners; ++i) {
    double a = i * 2 * std::numbers::pi / corners;
    points.push_back({radius * std::sin(a), -radius * std::cos(a)});
  }
  return points;
}

}  // namespace

MarkShape series_shape(std::size_t series) {
  return static_cast<MarkShape>(series % static_cast<std::size_t>(MarkShape::count_));
}

std::vector<Point> mark_outline(MarkShape shape, double size) {
  double r = size / 2;
  switch (shape) {
    case MarkShape::circle:
    case MarkShape::count_:
      return regular(24, r);
    case MarkShape::triangle_up:
      return {{0, -r * 1.15}, {r * 1.15, r * 0.9}, {-r * 1.15, r * 0.9}};
    case MarkShape::triangle_down:
      return {{-r * 1.15, -r * 0.9}, {r * 1.15, -r * 0.9}, {0, r * 1.15}};
    case MarkShape::square: {
      double h = r * 0.9;
      return {{-h, -h}, {h, -h}, {h, h}, {-h, h}};
    }
    case MarkShape::diamond:
      return regular(4, r * 1.25);
    case MarkShape::hexagon:
      return regular(6, r * 1.08);
    case MarkShape::star: {
      std::vector<Point> points;
      for (int i = 0; i < 10; ++i) {
        double a = i * std::numbers::pi / 5, radius = i % 2 == 0 ? r * 1.35 : r * 0.6;
        points.push_back({radius * std::sin(a), -radius * std::cos(a)});
      }
      return points;
    }
    case MarkShape::plus: {
      double a = r * 1.15, h = r * 0.42;
      return {{-h, -a}, {h, -a}, {h, -h}, {a, -h}, {a, h},   {h, h},
              {h, a},   {-h, a}, {-h, h}, {-a, h}, {-a, -h}, {-h, -h}};
    }
    case MarkShape::half_disc: {
      std::vector<Point> points;
      for (int i = 0; i <= 16; ++i) {
        double a = std::numbers::pi * (1 + i / 16.0);
        points.push_back({r * 1.2 * std::cos(a), r * 0.6 + r * 1.2 * std::sin(a)});
      }
      return points;
    }
  }
  return {};
}

}  // namespace stonecall::charts
