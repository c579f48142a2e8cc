#include "console/advise/meeting.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <numeric>

namespace stonecall::advise {
namespace {

/// Beyond this mean e^−μ is as good as nothing, and μ^98 is still a number.
constexpr double most_met = 700;

/// Draws handled in one step of the inner loops; rows are padded to a multiple of it.
constexpr std::size_t lanes = 8;
using Lanes = std::array<double, lanes>;

/// e^−μ·Σ_j c_j μ^j for `lanes` draws.
inline Lanes fading(const std::vector<double>& coefficients, const double* mean,
                    const double* none) {
  Lanes sum;
  sum.fill(coefficients.back());
  for (std::size_t j = coefficients.size() - 1; j-- > 0;)
    for (std::size_t l = 0; l < lanes; ++l) sum[l] = sum[l] * mean[l] + coefficients[j];
  for (std::size_t l = 0; l < lanes; ++l) sum[l] *= none[l];
  return sum;
}

/// out += e^−μ·Σ_j c_j μ^j for a whole row of draws.
void add_fading(const std::vector<double>& coefficients, const double* mean, const double* none,
                std::vector<double>& out) {
  for (std::size_t d = 0; d < out.size(); d += lanes) {
    const Lanes more = fading(coefficients, mean + d, none + d);
    for (std::size_t l = 0; l < lanes; ++l) out[d + l] += more[l];
  }
}

inline double fast_falling(double x) {
  // x = (n + f)·ln 2 with |f| ≤ 1/2; adding 1.5·2^52 rounds to the whole number n and leaves it in
  // the last bits.
  constexpr double rounding = 6755399441055744.0;
  const double t = std::min(x, most_met) * -1.4426950408889634;
  const double shifted = t + rounding;
  const double r = (t - (shifted - rounding)) * 0.6931471805599453;
  const double series =
      1 + r * (1 + r * (1. / 2 +
                        r * (1. / 6 +
                             r * (1. / 24 +
                                  r * (1. / 120 + r * (1. / 720 + r * (1. / 5040 + r / 40320)))))));
  const auto power = std::bit_cast<std::uint64_t>(shifted) << 52;
  return std::bit_cast<double>(std::bit_cast<std::uint64_t>(series) + power);
}

}  // namespace

double falling(double x) {
  return fast_falling(x);
}

Meeting::Meeting(std::span<const Wanted> kinds, std::span<const Draw> draws,
                 std::size_t stations_ahead, std::size_t stride)
    : kinds_handed_in_(kinds.size()),
      draws_((draws.size() + stride - 1) / stride),
      row_((draws_ + lanes - 1) / lanes * lanes),
      stations_(1 + stations_ahead) {
  for (std::size_t i = 0; i < kinds.size(); ++i) {
    const int wanted = std::min(kinds[i].number, most_wanted) - kinds[i].have;
    if (wanted <= 0 || kinds[i].weight <= 0) continue;
    Kind kind{i, {}, {}, {}};
    // What the (j+1)-th and all later ones are worth, j already met; 1/j! from the Poisson law.
    const double first = kinds[i].weight * std::pow(kinds[i].repeat, kinds[i].have);
    std::vector<double> later(static_cast<std::size_t>(wanted) + 1, 0.0);
    for (int j = wanted; j-- > 0;)
      later[static_cast<std::size_t>(j)] =
          later[static_cast<std::size_t>(j) + 1] + first * std::pow(kinds[i].repeat, j);
    double factorial = 1;
    for (int j = 0; j < wanted; ++j) {
      if (j > 0) factorial *= j;
      kind.worth.push_back(later[static_cast<std::size_t>(j)] / factorial);
      kind.number.push_back((wanted - j) / factorial);
      kind.open.push_back(1 / factorial);
    }
    kinds_.push_back(std::move(kind));
  }

  rate_.resize(stations_ * kinds_.size() * row_);
  handling_.resize(row_);
  for (std::size_t d = 0; d < row_; ++d) {
    const Draw& draw = draws[std::min(d, draws_ - 1) * stride];
    handling_[d] = draw.handling_minutes;
    for (std::size_t s = 0; s < stations_; ++s) {
      const auto& shares = s == 0 ? draw.here : draw.ahead[s - 1];
      for (std::size_t k = 0; k < kinds_.size(); ++k)
        rate_[(s * kinds_.size() + k) * row_ + d] =
            draw.looks_per_minute * shares[kinds_[k].handed_in];
    }
  }
}

Met Meeting::nothing_met() const {
  return {std::vector<double>(kinds_.size() * row_, 0.0),
          std::vector<double>(kinds_.size() * row_, 1.0)};
}

void Meeting::stay(std::size_t station, double minutes, Met& met) const {
  if (minutes <= 0) return;
  const std::size_t n = row_;
  std::vector<double> look(n, 0.0), missing_before(n, 0.0), missing(n), slope(n);
  for (std::size_t k = 0; k < kinds_.size(); ++k)
    add_fading(kinds_[k].number, met.mean.data() + k * n, met.none.data() + k * n, missing_before);
  // Newton on look + handling·E[taken] = minutes. The left side rises and bends downwards, so that
  // each step from 0 stays on the near side: time is never overdrawn.
  constexpr int most_steps = 12;
  for (int step = 0; step < most_steps; ++step) {
    std::fill(missing.begin(), missing.end(), 0.0);
    std::fill(slope.begin(), slope.end(), 1.0);
    for (std::size_t k = 0; k < kinds_.size(); ++k) {
      const double* rate = rates(station, k);
      const double* mean = met.mean.data() + k * n;
      const double* none = met.none.data() + k * n;
      for (std::size_t d = 0; d < n; d += lanes) {
        Lanes now, none_now;
        for (std::size_t l = 0; l < lanes; ++l) {
          const double more = rate[d + l] * look[d + l];
          now[l] = std::min(mean[d + l] + more, most_met);
          none_now[l] = none[d + l] * fast_falling(more);
        }
        const Lanes number = fading(kinds_[k].number, now.data(), none_now.data());
        const Lanes open = fading(kinds_[k].open, now.data(), none_now.data());
        for (std::size_t l = 0; l < lanes; ++l) {
          missing[d + l] += number[l];
          slope[d + l] += handling_[d + l] * rate[d + l] * open[l];
        }
      }
    }
    double furthest = 0;
    for (std::size_t d = 0; d < n; ++d) {
      const double left = minutes - look[d] - handling_[d] * (missing_before[d] - missing[d]);
      look[d] = std::clamp(look[d] + left / slope[d], 0.0, minutes);
      furthest = std::max(furthest, left);
    }
    if (furthest < 1e-3) break;
  }
  for (std::size_t k = 0; k < kinds_.size(); ++k) {
    const double* rate = rates(station, k);
    double* mean = met.mean.data() + k * n;
    double* none = met.none.data() + k * n;
    for (std::size_t d = 0; d < n; ++d) {
      const double more = rate[d] * look[d];
      mean[d] = std::min(mean[d] + more, most_met);
      none[d] *= fast_falling(more);
    }
  }
}

std::vector<double> Meeting::gained(const Met& met) const {
  std::vector<double> missing(row_, 0.0);
  double all = 0;
  for (std::size_t k = 0; k < kinds_.size(); ++k) {
    all += kinds_[k].worth[0];
    add_fading(kinds_[k].worth, met.mean.data() + k * row_, met.none.data() + k * row_, missing);
  }
  std::vector<double> gains(draws_);
  for (std::size_t d = 0; d < draws_; ++d) gains[d] = all - missing[d];
  return gains;
}

double Meeting::mean_gained(const Met& met) const {
  const auto gains = gained(met);
  return std::accumulate(gains.begin(), gains.end(), 0.0) / static_cast<double>(draws_);
}

std::vector<double> Meeting::mean_gained_by_kind(const Met& met) const {
  std::vector<double> gains(kinds_handed_in_, 0.0);
  for (std::size_t k = 0; k < kinds_.size(); ++k) {
    std::vector<double> missing(row_, 0.0);
    add_fading(kinds_[k].worth, met.mean.data() + k * row_, met.none.data() + k * row_, missing);
    const double sum = std::accumulate(missing.begin(),
                                       missing.begin() + static_cast<std::ptrdiff_t>(draws_), 0.0);
    gains[kinds_[k].handed_in] = kinds_[k].worth[0] - sum / static_cast<double>(draws_);
  }
  return gains;
}

GainRows Meeting::gains_of_stay(std::size_t station, const Met& before, const Met& all,
                                std::span<const double> minutes) const {
  const std::size_t n = row_;
  const std::size_t columns = minutes.size();
  GainRows rows(draws_ * columns, 0.0);
  if (kinds_.empty() || columns == 0) return rows;

  // March through look-time in steps that double every so often; e^−mean then falls by a constant
  // factor a step.
  constexpr int steps_a_width = 8;
  double width = 0.5;
  const std::size_t cells = kinds_.size() * n;
  Met now = before;
  std::vector<double> factor(cells), later(cells), none_later(cells);
  for (std::size_t k = 0; k < kinds_.size(); ++k) {
    const double* rate = rates(station, k);
    for (std::size_t d = 0; d < n; ++d) {
      const std::size_t c = k * n + d;
      factor[c] = fast_falling(rate[d] * width);
      later[c] = std::max(all.mean[c] - before.mean[c], 0.0);
      none_later[c] = fast_falling(later[c]);
    }
  }

  std::vector<double> number_missing(n), worth_missing(n), number_at_first(n), worth_at_first(n);
  std::vector<double> clock(n, 0.0), gain(n, 0.0), clock_before(n), gain_before(n);
  std::vector<std::size_t> next(n, 0);
  const auto look_at = [&](std::vector<double>& number, std::vector<double>& worth) {
    std::fill(number.begin(), number.end(), 0.0);
    std::fill(worth.begin(), worth.end(), 0.0);
    for (std::size_t k = 0; k < kinds_.size(); ++k) {
      const double* mean = now.mean.data() + k * n;
      const double* none = now.none.data() + k * n;
      const double* mean_later = later.data() + k * n;
      const double* none_after = none_later.data() + k * n;
      add_fading(kinds_[k].number, mean, none, number);
      for (std::size_t d = 0; d < n; d += lanes) {
        Lanes in_the_end, none_in_the_end;
        for (std::size_t l = 0; l < lanes; ++l) {
          in_the_end[l] = std::min(mean[d + l] + mean_later[d + l], most_met);
          none_in_the_end[l] = none[d + l] * none_after[d + l];
        }
        const Lanes more = fading(kinds_[k].worth, in_the_end.data(), none_in_the_end.data());
        for (std::size_t l = 0; l < lanes; ++l) worth[d + l] += more[l];
      }
    }
  };
  look_at(number_at_first, worth_at_first);

  double look = 0;
  std::size_t unfinished = draws_;
  for (std::size_t d = 0; d < draws_; ++d)
    while (next[d] < columns && minutes[next[d]] <= 0) ++next[d];
  for (int step = 0; unfinished > 0 && look <= minutes.back(); ++step) {
    if (step > 0 && step % steps_a_width == 0) {
      width *= 2;
      for (double& f : factor) f *= f;
    }
    look += width;
    for (std::size_t k = 0; k < kinds_.size(); ++k) {
      const double* rate = rates(station, k);
      double* mean = now.mean.data() + k * n;
      double* none = now.none.data() + k * n;
      const double* f = factor.data() + k * n;
      for (std::size_t d = 0; d < n; ++d) {
        mean[d] = std::min(mean[d] + rate[d] * width, most_met);
        none[d] *= f[d];
      }
    }
    look_at(number_missing, worth_missing);
    clock.swap(clock_before);
    gain.swap(gain_before);
    unfinished = 0;
    for (std::size_t d = 0; d < draws_; ++d) {
      clock[d] = look + handling_[d] * (number_at_first[d] - number_missing[d]);
      gain[d] = worth_at_first[d] - worth_missing[d];
      for (; next[d] < columns && minutes[next[d]] <= clock[d]; ++next[d]) {
        const double part = (minutes[next[d]] - clock_before[d]) / (clock[d] - clock_before[d]);
        rows[d * columns + next[d]] = gain_before[d] + part * (gain[d] - gain_before[d]);
      }
      if (next[d] < columns) ++unfinished;
    }
  }
  return rows;
}

}  // namespace stonecall::advise
