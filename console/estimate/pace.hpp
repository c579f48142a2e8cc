#pragma once

#include <cstdint>

#include "console/estimate/basis.hpp"

namespace stonecall::estimate {

/// What is known of a rate of events a minute: Gamma(shape, rate), both above zero, the rate in
/// minutes. It is the posterior of a Poisson rate (Gelman et al., Bayesian Data Analysis, section
/// on Poisson models).
struct RatePosterior {
  double shape = 0;         ///< events, those the prior is worth included
  double rate_minutes = 0;  ///< minutes, those the prior is worth included

  double mean() const;                                            ///< events a minute
  double standard_deviation() const;                              ///< events a minute
  double quantile(double probability) const;                      ///< probability in (0, 1)
  Interval interval(double confidence = shown_confidence) const;  ///< central
  bool operator==(const RatePosterior&) const = default;
};

/// Pace of looking (rocks a minute), of collecting (samples a minute): the prior plus this party's
/// own `events` in `minutes`. The prior 1/2 events in 0 minutes is Jeffreys'. No basis where prior
/// and record hold neither events nor minutes.
Estimate<RatePosterior> rate_posterior(double events, double minutes, double prior_events,
                                       double prior_minutes);

/// The plan's expectation as a prior: a rate, worth so many minutes of watching.
Estimate<RatePosterior> rate_prior(double events_per_minute, double worth_minutes);

/// How long one thing takes: minutes a documented sample. The rate is that of finishing samples, so
/// the time is its inverse, with an inverse gamma distribution.
struct DurationPosterior {
  RatePosterior per_minute;

  /// Expected minutes; the mean where shape > 1 (no basis below: the record is too short for one).
  Estimate<double> mean_minutes() const;
  double median_minutes() const;
  Interval interval_minutes(double confidence = shown_confidence) const;
};

/// `samples` handled in `minutes`; the plan's figure is worth `worth_samples` samples.
Estimate<DurationPosterior> handling_posterior(double samples, double minutes,
                                               double planned_minutes_each, double worth_samples);

/// How many events come in the `minutes` ahead: negative binomial (the rate is not known for sure,
/// so the spread is wider than Poisson).
class Forecast {
 public:
  /// minutes ≥ 0; with 0 the answer is surely none.
  Forecast(const RatePosterior& rate, double minutes);

  double mean() const;
  double probability_of(std::int64_t events) const;
  double probability_at_most(std::int64_t events) const;
  double probability_at_least(std::int64_t events) const;
  /// Smallest number of events whose probability_at_most reaches `probability` (in (0, 1)).
  std::int64_t quantile(double probability) const;

 private:
  double shape_;
  double stop_;  // rate / (rate + minutes), the negative binomial's success probability
};

}  // namespace stonecall::estimate
