#include "console/estimate/coupled_shares.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <optional>

#include <boost/math/special_functions/chebyshev.hpp>
#include <boost/math/tools/minima.hpp>

namespace stonecall::estimate {
namespace {

// --- densities over log-odds ---
// Over the log-odds of a share all densities here are analytic and fall off exponentially on both
// sides, where evenly spaced points integrate best (Trefethen & Weideman 2014, SIAM Review
// 56:385-458).

double log_of_share(double log_odds) {
  return log_odds < 0 ? log_odds - std::log1p(std::exp(log_odds))
                      : -std::log1p(std::exp(-log_odds));
}

struct Share {
  explicit Share(double log_odds)
      : log_x(log_of_share(log_odds)),
        log_rest(log_x - log_odds),
        x(std::exp(log_x)),
        rest(std::exp(log_rest)) {}
  double log_x, log_rest, x, rest;  // rest = 1 − x, also where that is next to nothing
};

constexpr double nats_shown = 22;   // what lies further down adds nothing to the fifth digit
constexpr double farthest = 60;     // log-odds beyond any peak
constexpr double narrowest = 1e-6;  // half of one
constexpr double pole_distance = std::numbers::pi;

struct Peak {
  double height;    // of the logarithm of the density
  double from, to;  // `nats_shown` lower
  double width;     // to where it is one lower, on the steeper side, or up to half of that
};

template <class LogDensity>
Peak peak_of(const LogDensity& log_density) {
  constexpr int bits = 20;
  std::uintmax_t tries = 80;
  const auto [at, below] = boost::math::tools::brent_find_minima(
      [&](double y) { return -log_density(y); }, -farthest, farthest, bits, tries);
  Peak peak{-below, at, at, pole_distance};
  const auto reach = [&](double side) {
    const auto drop = [&](double away) { return peak.height - log_density(at + side * away); };
    double inside = 0, outside = 0.01;
    while (drop(outside) > 1 && outside > narrowest) outside /= 2;
    while (drop(outside) < 1) outside *= 2;
    peak.width = std::min(peak.width, outside);
    for (; drop(outside) < nats_shown; outside *= 2) inside = outside;
    for (int i = 0; i < 3; ++i) {
      const double middle = (inside + outside) / 2;
      (drop(middle) < nats_shown ? inside : outside) = middle;
    }
    return at + side * outside;
  };
  peak.from = reach(-1);
  peak.to = reach(1);
  return peak;
}

std::size_t steps_over(const Peak& peak, double step) {
  return static_cast<std::size_t>(std::ceil((peak.to - peak.from) / step));
}

template <class LogDensity>
double log_integral(const LogDensity& log_density) {
  const auto peak = peak_of(log_density);
  const auto steps = steps_over(peak, std::min(0.3 * peak.width, pole_distance / 4));
  const double step = (peak.to - peak.from) / static_cast<double>(steps);
  double sum = 0;
  for (std::size_t i = 0; i <= steps; ++i)
    sum += std::exp(log_density(peak.from + step * static_cast<double>(i)) - peak.height);
  return peak.height + std::log(sum * step);
}

// --- amounts ---

// The amount s that some parts have together: of one part its density is s^(alpha − 1)(1 −
// s)^against, of several s^(alpha − 1) times a smooth factor, whose logarithm is a Chebyshev
// series.
class Amount {
 public:
  explicit Amount(const CoupledPart& part) : alpha_(part.alpha), against_(part.against) {}

  Amount(const Amount& a, const Amount& b) : alpha_(a.alpha_ + b.alpha_), series_(nodes) {
    std::array<double, nodes> values{};
    for (std::size_t k = 0; k < nodes; ++k) {
      const double half_angle = angle(k) / 2;
      const double s = std::cos(half_angle) * std::cos(half_angle);
      const double rest = std::sin(half_angle) * std::sin(half_angle);
      values[k] = log_integral([&](double log_odds) {
        const Share u(log_odds);
        return a.alpha_ * u.log_x + b.alpha_ * u.log_rest +
               a.log_factor(s * u.x, rest + s * u.rest) + b.log_factor(s * u.rest, rest + s * u.x);
      });
    }
    for (std::size_t j = 0; j < nodes; ++j) {
      double sum = 0;
      for (std::size_t k = 0; k < nodes; ++k)
        sum += values[k] * std::cos(static_cast<double>(j) * angle(k));
      series_[j] = sum * 2 / nodes;
    }
  }

  double alpha() const { return alpha_; }

  // `rest` is 1 − s.
  double log_factor(double s, double rest) const {
    if (!series_.empty())
      return boost::math::chebyshev_clenshaw_recurrence(series_.data(), series_.size(), s - rest);
    return against_ > 0 ? against_ * std::log(rest) : 0;
  }

 private:
  static constexpr std::size_t nodes = 40;
  static double angle(std::size_t k) {
    return std::numbers::pi * (static_cast<double>(k) + 0.5) / nodes;
  }

  double alpha_;
  double against_ = 0;
  std::vector<double> series_;  // empty: one part
};

}  // namespace

// The only maker of tables.
class Coupling {
 public:
  static TabulatedShare marginal(const CoupledPart& part, const Amount& others) {
    const auto log_density = [&](double log_odds) {
      const Share p(log_odds);
      return part.alpha * p.log_x + (others.alpha() + part.against) * p.log_rest +
             others.log_factor(p.rest, p.x);
    };
    const auto peak = peak_of(log_density);
    const auto steps = steps_over(peak, 0.15 * peak.width);
    TabulatedShare table;
    table.first_ = peak.from;
    table.step_ = (peak.to - peak.from) / static_cast<double>(steps);
    table.distribution_.reserve(steps + 1);
    table.density_.reserve(steps + 1);
    std::vector<double> shares;
    double total = 0, first_moment = 0, second_moment = 0;
    for (std::size_t i = 0; i <= steps; ++i) {
      const double log_odds = table.first_ + table.step_ * static_cast<double>(i);
      const auto density = [&](double y) { return std::exp(log_density(y) - peak.height); };
      const double here = density(log_odds);
      if (i > 0) {  // Simpson's rule
        const double between = density(log_odds - table.step_ / 2);
        total += table.step_ / 6 * (table.density_.back() + 4 * between + here);
      }
      shares.push_back(Share(log_odds).x);
      first_moment += here * shares.back() * table.step_;
      table.density_.push_back(here);
      table.distribution_.push_back(total);
    }
    table.mean_ = first_moment / total;
    for (std::size_t i = 0; i <= steps; ++i) {
      const double off = shares[i] - table.mean_;
      second_moment += table.density_[i] * off * off * table.step_;
    }
    table.variance_ = second_moment / total;
    for (auto& value : table.density_) value /= total;
    for (auto& value : table.distribution_) value /= total;
    return table;
  }
};

double TabulatedShare::interpolated(double log_odds) const {
  const double place =
      std::clamp((log_odds - first_) / step_, 0.0, static_cast<double>(distribution_.size() - 1));
  const auto i = std::min(static_cast<std::size_t>(place), distribution_.size() - 2);
  const double t = place - static_cast<double>(i);
  // Cubic through both values and slopes.
  const double rise = distribution_[i + 1] - distribution_[i];
  const double from = density_[i] * step_ - rise, to = rise - density_[i + 1] * step_;
  return std::clamp(distribution_[i] + t * (rise + (1 - t) * ((1 - t) * from + t * to)), 0.0, 1.0);
}

double TabulatedShare::at_most(double x) const {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  return interpolated(std::log(x) - std::log1p(-x));
}

Interval TabulatedShare::interval(double confidence) const {
  const double tail = (1 - confidence) / 2;
  return {exceeded(1 - tail), exceeded(tail)};
}

double TabulatedShare::exceeded(double tail) const {
  assert(tail >= 0 && tail <= 1);
  const double probability = 1 - tail;
  const auto above = std::ranges::lower_bound(distribution_, probability) - distribution_.begin();
  const auto i = static_cast<double>(std::max<std::ptrdiff_t>(above, 1) - 1);
  double low = first_ + step_ * i, high = low + step_;
  for (int halvings = 0; halvings < 30; ++halvings) {
    const double middle = (low + high) / 2;
    (interpolated(middle) < probability ? low : high) = middle;
  }
  return Share((low + high) / 2).x;
}

std::vector<TabulatedShare> coupled_shares(std::span<const CoupledPart> parts) {
  assert(parts.size() >= 2);
  const auto last = parts.size() - 1;
  // All parts behind each, then, going up, all before it.
  std::vector<std::optional<Amount>> behind(parts.size());
  for (std::size_t i = last; i-- > 0;) {
    const Amount next(parts[i + 1]);
    behind[i] = behind[i + 1] ? Amount(next, *behind[i + 1]) : next;
  }
  std::vector<TabulatedShare> tables;
  std::optional<Amount> before;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Amount part(parts[i]);
    const Amount others = before && behind[i] ? Amount(*before, *behind[i])
                          : before            ? *before
                                              : *behind[i];
    tables.push_back(Coupling::marginal(parts[i], others));
    if (i < last) before = before ? Amount(*before, part) : part;
  }
  return tables;
}

}  // namespace stonecall::estimate
