#include "console/advise/meeting.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <numeric>

namespace stonecall::advise {
namespace {

/// Beyond this mean a want of `most_wanted` is met for certain, and μ^(most_wanted − 1) is still a
/// number.
constexpr float most_met = 80;

/// Beyond these a rate or a handling time is no longer told apart from an endless one.
constexpr double fastest = 1e4;  // rocks a minute
constexpr double slowest = 1e5;  // minutes a sample

/// Draws handled in one step of the inner loops; rows are padded to a multiple of it. A vector of
/// GCC and Clang as wide as every processor's registers: plain arithmetic on all lanes at once.
constexpr std::size_t lanes = 4;
using Lanes [[gnu::vector_size(16)]] = float;
using BitLanes [[gnu::vector_size(16)]] = std::int32_t;
static_assert(sizeof(Lanes) == lanes * sizeof(float));

inline Lanes load(const float* from) {
  Lanes to;
  std::memcpy(&to, from, sizeof to);
  return to;
}
inline void store(Lanes from, float* to) {
  std::memcpy(to, &from, sizeof from);
}
inline Lanes all_lanes(float x) {
  return Lanes{} + x;
}
inline Lanes capped(Lanes x) {
  return x < most_met ? x : all_lanes(most_met);
}

/// e^−x.
inline Lanes falling(Lanes x) {
  // x = (n + f)·ln 2 with |f| ≤ 1/2; adding 1.5·2^23 rounds to the whole number n and leaves it in
  // the last bits.
  constexpr float rounding = 12582912.0f;
  const Lanes t = capped(x) * -1.44269504f;
  const Lanes shifted = t + rounding;
  const Lanes r = (t - (shifted - rounding)) * 0.69314718f;
  Lanes series = r * (1.f / 720) + 1.f / 120;
  series = series * r + 1.f / 24;
  series = series * r + 1.f / 6;
  series = series * r + 0.5f;
  series = series * r + 1.f;
  series = series * r + 1.f;
  const BitLanes power = reinterpret_cast<BitLanes>(shifted) << 23;
  return reinterpret_cast<Lanes>(reinterpret_cast<BitLanes>(series) + power);
}

/// e^−μ·Σ_j c_j μ^j, given μ and e^−μ.
inline Lanes fading(const std::vector<float>& coefficients, Lanes mean, Lanes none) {
  Lanes sum = all_lanes(coefficients.back());
  for (std::size_t j = coefficients.size() - 1; j-- > 0;) sum = sum * mean + coefficients[j];
  return sum * none;
}

/// out += e^−μ·Σ_j c_j μ^j for a whole row of draws.
void add_fading(const std::vector<float>& coefficients, const float* mean, const float* none,
                std::vector<float>& out) {
  for (std::size_t d = 0; d < out.size(); d += lanes)
    store(load(out.data() + d) + fading(coefficients, load(mean + d), load(none + d)),
          out.data() + d);
}

}  // namespace

float falling(float x) {
  return falling(all_lanes(x))[0];
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
      kind.worth.push_back(static_cast<float>(later[static_cast<std::size_t>(j)] / factorial));
      kind.number.push_back(static_cast<float>((wanted - j) / factorial));
      kind.open.push_back(static_cast<float>(1 / factorial));
    }
    kinds_.push_back(std::move(kind));
  }

  rate_.resize(stations_ * kinds_.size() * row_);
  handling_.resize(row_);
  for (std::size_t d = 0; d < row_; ++d) {
    const Draw& draw = draws[std::min(d, draws_ - 1) * stride];
    handling_[d] = static_cast<float>(std::min(draw.handling_minutes, slowest));
    for (std::size_t s = 0; s < stations_; ++s) {
      const auto& shares = s == 0 ? draw.here : draw.ahead[s - 1];
      for (std::size_t k = 0; k < kinds_.size(); ++k)
        rate_[(s * kinds_.size() + k) * row_ + d] = static_cast<float>(
            std::min(draw.looks_per_minute * shares[kinds_[k].handed_in], fastest));
    }
  }
}

Met Meeting::nothing_met() const {
  return {std::vector<float>(kinds_.size() * row_, 0.f),
          std::vector<float>(kinds_.size() * row_, 1.f)};
}

void Meeting::stay(std::size_t station, double minutes, Met& met, Looks& looks) const {
  if (minutes <= 0) return;
  const auto clock = static_cast<float>(minutes);
  if (looks.size() != row_) looks.assign(row_, 0.f);
  std::vector<float> missing_before(row_, 0.f), missing(row_), slope(row_);
  for (std::size_t k = 0; k < kinds_.size(); ++k)
    add_fading(kinds_[k].number, met.mean.data() + k * row_, met.none.data() + k * row_,
               missing_before);
  // Newton on look + handling·E[taken] = minutes. The left side rises and bends downwards, so that
  // wherever a step starts it ends on the near side: time is never overdrawn.
  constexpr int most_steps = 12;
  constexpr float near_enough = 0.01f;  // minutes
  for (int step = 0; step < most_steps; ++step) {
    std::fill(missing.begin(), missing.end(), 0.f);
    std::fill(slope.begin(), slope.end(), 0.f);
    for (std::size_t k = 0; k < kinds_.size(); ++k) {
      const float* rate = rates(station, k);
      const float* mean = met.mean.data() + k * row_;
      const float* none = met.none.data() + k * row_;
      for (std::size_t d = 0; d < row_; d += lanes) {
        const Lanes more = load(rate + d) * load(looks.data() + d);
        const Lanes now = capped(load(mean + d) + more);
        const Lanes none_now = load(none + d) * falling(more);
        store(load(missing.data() + d) + fading(kinds_[k].number, now, none_now),
              missing.data() + d);
        store(load(slope.data() + d) + load(rate + d) * fading(kinds_[k].open, now, none_now),
              slope.data() + d);
      }
    }
    float furthest = 0;
    for (std::size_t d = 0; d < row_; ++d) {
      const float left = clock - looks[d] - handling_[d] * (missing_before[d] - missing[d]);
      looks[d] = std::clamp(looks[d] + left / (1 + handling_[d] * slope[d]), 0.f, clock);
      furthest = std::max(furthest, std::abs(left));
    }
    if (furthest < near_enough) break;
  }
  for (std::size_t k = 0; k < kinds_.size(); ++k) {
    const float* rate = rates(station, k);
    float* mean = met.mean.data() + k * row_;
    float* none = met.none.data() + k * row_;
    for (std::size_t d = 0; d < row_; d += lanes) {
      const Lanes more = load(rate + d) * load(looks.data() + d);
      store(capped(load(mean + d) + more), mean + d);
      store(load(none + d) * falling(more), none + d);
    }
  }
}

std::vector<double> Meeting::gained(const Met& met) const {
  std::vector<float> missing(row_, 0.f);
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
    std::vector<float> missing(row_, 0.f);
    add_fading(kinds_[k].worth, met.mean.data() + k * row_, met.none.data() + k * row_, missing);
    missing.resize(draws_);
    gains[kinds_[k].handed_in] =
        kinds_[k].worth[0] -
        std::accumulate(missing.begin(), missing.end(), 0.0) / static_cast<double>(draws_);
  }
  return gains;
}

GainRows Meeting::gains_of_stay(std::size_t station, const Met& before,
                                std::span<const float> later,
                                std::span<const double> minutes) const {
  const std::size_t columns = minutes.size();
  GainRows rows(draws_ * columns, 0.f);
  if (kinds_.empty() || columns == 0) return rows;

  // March through look-time in steps that double every so often; e^−mean then falls by a constant
  // factor a step.
  constexpr int steps_a_width = 6;
  float width = 0.5f;
  Met now = before;
  std::vector<float> factor(now.mean.size()), none_later(now.mean.size());
  for (std::size_t k = 0; k < kinds_.size(); ++k)
    for (std::size_t d = 0; d < row_; d += lanes) {
      const std::size_t c = k * row_ + d;
      store(falling(load(rates(station, k) + d) * width), factor.data() + c);
      store(falling(load(later.data() + c)), none_later.data() + c);
    }

  std::vector<float> number_missing(row_), worth_missing(row_);
  const auto see_what_is_missing = [&] {
    std::fill(number_missing.begin(), number_missing.end(), 0.f);
    std::fill(worth_missing.begin(), worth_missing.end(), 0.f);
    for (std::size_t k = 0; k < kinds_.size(); ++k)
      for (std::size_t d = 0; d < row_; d += lanes) {
        const std::size_t c = k * row_ + d;
        const Lanes mean = load(now.mean.data() + c);
        const Lanes none = load(now.none.data() + c);
        store(load(number_missing.data() + d) + fading(kinds_[k].number, mean, none),
              number_missing.data() + d);
        store(load(worth_missing.data() + d) + fading(kinds_[k].worth,
                                                      capped(mean + load(later.data() + c)),
                                                      none * load(none_later.data() + c)),
              worth_missing.data() + d);
      }
  };
  see_what_is_missing();
  const std::vector<float> number_at_first = number_missing, worth_at_first = worth_missing;

  std::vector<float> clock(draws_, 0.f), gain(draws_, 0.f);
  std::vector<std::size_t> next(
      draws_, static_cast<std::size_t>(std::upper_bound(minutes.begin(), minutes.end(), 0.0) -
                                       minutes.begin()));
  double look = 0;
  for (int step = 0; look <= minutes.back(); ++step) {
    if (step > 0 && step % steps_a_width == 0) {
      width *= 2;
      for (float& f : factor) f *= f;
    }
    look += width;
    for (std::size_t k = 0; k < kinds_.size(); ++k)
      for (std::size_t d = 0; d < row_; d += lanes) {
        const std::size_t c = k * row_ + d;
        store(capped(load(now.mean.data() + c) + load(rates(station, k) + d) * width),
              now.mean.data() + c);
        store(load(now.none.data() + c) * load(factor.data() + c), now.none.data() + c);
      }
    see_what_is_missing();
    bool finished = true;
    for (std::size_t d = 0; d < draws_; ++d) {
      const float clock_now =
          static_cast<float>(look) + handling_[d] * (number_at_first[d] - number_missing[d]);
      const float gain_now = worth_at_first[d] - worth_missing[d];
      float* row = rows.data() + d * columns;
      for (; next[d] < columns && minutes[next[d]] <= clock_now; ++next[d])
        row[next[d]] = gain[d] + (static_cast<float>(minutes[next[d]]) - clock[d]) /
                                     (clock_now - clock[d]) * (gain_now - gain[d]);
      finished = finished && next[d] == columns;
      clock[d] = clock_now;
      gain[d] = gain_now;
    }
    if (finished) break;
  }
  return rows;
}

}  // namespace stonecall::advise
