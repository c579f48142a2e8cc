#include "console/estimate/pace.hpp"

#include <cmath>

#include <catch2/catch.hpp>

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

}  // namespace

TEST_CASE("A rate takes its prior and its record together: three deaths among 200,000") {
  // Gelman et al., Bayesian Data Analysis, section 2.6 (from memory): prior Gamma(3, 5), 3 cases in
  // exposure 2: Gamma(6, 7), mean 0.86; after 30 cases in exposure 20: Gamma(33, 25), mean 1.32.
  CHECK_THAT(rate_posterior(3, 2, 3, 5)->mean(), WithinAbs(0.86, 0.005));
  CHECK_THAT(rate_posterior(30, 20, 3, 5)->mean(), WithinAbs(1.32, 0.005));
}

TEST_CASE("A plan's pace is worth the minutes it says and gives way to the record") {
  const auto planned = rate_prior(2, 20).value();
  CHECK(planned.mean() == 2);
  const auto after = rate_posterior(30, 60, planned.shape, planned.rate_minutes).value();
  CHECK_THAT(after.mean(), WithinRel((40.0 + 30) / (20 + 60), 1e-12));
  CHECK(after.interval().upper - after.interval().lower <
        planned.interval().upper - planned.interval().lower);
}

TEST_CASE("A pace with neither record nor plan has no basis") {
  CHECK(rate_posterior(0, 10, 0, 0).error() == NoBasis::no_prior);
  CHECK(rate_posterior(3, 0, 0.5, 0).error() == NoBasis::no_prior);
  CHECK(rate_posterior(-1, 10, 1, 1).error() == NoBasis::not_possible);
  CHECK(rate_posterior(1, NAN, 1, 1).error() == NoBasis::not_possible);
  CHECK(handling_posterior(0, 0, 4, 0).error() == NoBasis::no_prior);
}

TEST_CASE("Handling time starts at the plan's figure and moves to the party's own") {
  const auto planned = handling_posterior(0, 0, 4, 3).value();
  CHECK_THAT(planned.mean_minutes().value(),
             WithinRel(12.0 / 2, 1e-12));                        // inverse gamma, 12/(3 − 1)
  const auto after = handling_posterior(40, 240, 4, 3).value();  // six minutes each
  CHECK_THAT(after.median_minutes(), WithinAbs(6, 0.2));
  const auto interval = after.interval_minutes();
  CHECK((interval.lower < 6 && 6 < interval.upper));
}

TEST_CASE("A record of one sample is too short for a mean handling time but has a median") {
  const auto one = handling_posterior(0, 0, 4, 1).value();
  CHECK(one.mean_minutes().error() == NoBasis::too_few_counted);
  CHECK(std::isfinite(one.median_minutes()));
}

TEST_CASE("No minutes ahead bring no sample") {
  const Forecast ahead(rate_posterior(7, 20, 0.5, 0).value(), 0);
  CHECK(ahead.mean() == 0);
  CHECK(ahead.probability_of(0) == 1);
  CHECK(ahead.probability_at_least(1) == 0);
  CHECK(ahead.quantile(0.99) == 0);
}

TEST_CASE("A forecast's parts add up") {
  const Forecast ahead(rate_posterior(7, 20, 0.5, 0).value(), 30);
  double sum = 0, mean = 0;
  for (std::int64_t k = 0; k < 200; ++k) {
    sum += ahead.probability_of(k);
    mean += static_cast<double>(k) * ahead.probability_of(k);
    CHECK_THAT(ahead.probability_at_most(k), WithinAbs(sum, 1e-12));
    CHECK_THAT(ahead.probability_at_least(k + 1), WithinAbs(1 - sum, 1e-12));
  }
  CHECK_THAT(sum, WithinAbs(1, 1e-12));
  CHECK_THAT(mean, WithinAbs(ahead.mean(), 1e-9));
}

TEST_CASE("A forecast's quantile is the first number of samples to reach the probability") {
  const Forecast ahead(rate_posterior(7, 20, 0.5, 0).value(), 30);
  for (const double probability : {0.001, 0.05, 0.5, 0.95, 0.999}) {
    const auto k = ahead.quantile(probability);
    CHECK(ahead.probability_at_most(k) >= probability);
    CHECK(ahead.probability_at_most(k - 1) < probability);
  }
}

TEST_CASE("A rate that is not known for sure spreads a forecast wider than chance alone") {
  const Forecast unsure(rate_posterior(4, 20, 0, 0).value(), 20);
  const Forecast sure(rate_posterior(4000, 20000, 0, 0).value(), 20);
  CHECK_THAT(unsure.mean(), WithinRel(sure.mean(), 1e-12));
  CHECK(unsure.quantile(0.95) > sure.quantile(0.95));
}

}  // namespace stonecall::estimate
