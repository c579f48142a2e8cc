#include "console/estimate/pace.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include <boost/math/special_functions/beta.hpp>
#include <boost/math/special_functions/gamma.hpp>

namespace stonecall::estimate {
namespace {

namespace bm = boost::math;

}  // namespace

double RatePosterior::mean() const {
  return shape / rate_minutes;
}

double RatePosterior::standard_deviation() const {
  return std::sqrt(shape) / rate_minutes;
}

double RatePosterior::quantile(double probability) const {
  assert(probability > 0 && probability < 1);
  return bm::gamma_p_inv(shape, probability) / rate_minutes;
}

Interval RatePosterior::interval(double confidence) const {
  assert(confidence > 0 && confidence < 1);
  const double tail = (1 - confidence) / 2;
  return {bm::gamma_p_inv(shape, tail) / rate_minutes, bm::gamma_q_inv(shape, tail) / rate_minutes};
}

Estimate<RatePosterior> rate_posterior(double events, double minutes, double prior_events,
                                       double prior_minutes) {
  if (!is_amount(events) || !is_amount(minutes) || !is_amount(prior_events) ||
      !is_amount(prior_minutes)) {
    return tl::unexpected(NoBasis::not_possible);
  }
  const RatePosterior posterior{events + prior_events, minutes + prior_minutes};
  if (!(posterior.shape > 0 && posterior.rate_minutes > 0))
    return tl::unexpected(NoBasis::no_prior);
  return posterior;
}

Estimate<RatePosterior> rate_prior(double events_per_minute, double worth_minutes) {
  return rate_posterior(0, 0, events_per_minute * worth_minutes, worth_minutes);
}

Estimate<double> DurationPosterior::mean_minutes() const {
  if (per_minute.shape <= 1) return tl::unexpected(NoBasis::too_few_counted);
  return per_minute.rate_minutes / (per_minute.shape - 1);
}

double DurationPosterior::median_minutes() const {
  return 1 / per_minute.quantile(0.5);
}

Interval DurationPosterior::interval_minutes(double confidence) const {
  const auto rate = per_minute.interval(confidence);
  return {1 / rate.upper, 1 / rate.lower};
}

Estimate<DurationPosterior> handling_posterior(double samples, double minutes,
                                               double planned_minutes_each, double worth_samples) {
  const auto rate =
      rate_posterior(samples, minutes, worth_samples, planned_minutes_each * worth_samples);
  if (!rate) return tl::unexpected(rate.error());
  return DurationPosterior{*rate};
}

Forecast::Forecast(const RatePosterior& rate, double minutes)
    : shape_(rate.shape), stop_(rate.rate_minutes / (rate.rate_minutes + minutes)) {
  assert(rate.shape > 0 && rate.rate_minutes > 0 && minutes >= 0);
}

double Forecast::mean() const {
  return shape_ * (1 - stop_) / stop_;
}

double Forecast::probability_of(std::int64_t events) const {
  if (events < 0) return 0;
  if (stop_ == 1) return events == 0 ? 1 : 0;
  const auto k = static_cast<double>(events);
  return bm::ibeta_derivative(shape_, k + 1, stop_) * stop_ / (shape_ + k);
}

double Forecast::probability_at_most(std::int64_t events) const {
  if (events < 0) return 0;
  if (stop_ == 1) return 1;
  return bm::ibeta(shape_, static_cast<double>(events) + 1, stop_);
}

double Forecast::probability_at_least(std::int64_t events) const {
  if (events <= 0) return 1;
  if (stop_ == 1) return 0;
  return bm::ibetac(shape_, static_cast<double>(events), stop_);
}

std::int64_t Forecast::quantile(double probability) const {
  assert(probability > 0 && probability < 1);
  std::int64_t above = 1;
  while (probability_at_most(above) < probability && above < (std::int64_t{1} << 52)) above *= 2;
  std::int64_t below = -1;  // surely not enough
  while (above - below > 1) {
    const auto middle = below + (above - below) / 2;
    (probability_at_most(middle) < probability ? below : above) = middle;
  }
  return above;
}

}  // namespace stonecall::estimate
