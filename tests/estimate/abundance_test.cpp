#include "console/estimate/abundance.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <boost/math/quadrature/tanh_sinh.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <catch2/catch.hpp>

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

Evidence counted(std::vector<std::int64_t> counts) {
  Evidence evidence;
  evidence.classes = counts.size();
  evidence.looks.push_back(std::move(counts));
  return evidence;
}

SpokenShare said(std::size_t kind, double low, double high, std::size_t caller = 0) {
  SpokenShare share;
  share.kind = kind;
  share.low = low;
  share.high = high;
  share.caller = caller;
  return share;
}

double total_of_means(const SharePosterior& posterior) {
  double total = 0;
  for (const auto& share : share_estimates(posterior)) total += share.mean;
  return total;
}

// Mean and P(p_kind ≤ x) of a posterior over three classes, by two-dimensional quadrature of its
// density.
struct ThreeClasses {
  const SharePosterior& posterior;

  template <class F>
  double integral(const F& f) const {
    boost::math::quadrature::tanh_sinh<double> outer(8), inner(8);
    const auto power = [](double x, double exponent) {
      return exponent == 0 ? 1 : std::pow(x, exponent);
    };
    return outer.integrate(
        [&](double p0) {
          return inner.integrate(
              [&](double part) {
                const double p1 = (1 - p0) * part;
                const double p2 = (1 - p0) * (1 - part);
                const double p[3] = {p0, p1, p2};
                double density = 1 - p0;  // of the change of variables
                for (int i = 0; i < 3; ++i) {
                  const auto k = static_cast<std::size_t>(i);
                  density *=
                      power(p[i], posterior.alpha[k] - 1) * power(1 - p[i], posterior.against[k]);
                }
                return density * f(p);
              },
              0.0, 1.0, 1e-9);
        },
        0.0, 1.0, 1e-9);
  }

  double mean(int kind) const {
    return integral([&](const double* p) { return p[kind]; }) /
           integral([](const double*) { return 1.0; });
  }
  double mean_square(int kind) const {
    return integral([&](const double* p) { return p[kind] * p[kind]; }) /
           integral([](const double*) { return 1.0; });
  }
};

}  // namespace

TEST_CASE("With nothing counted and nothing said every kind is as likely as the other") {
  Evidence nothing;
  nothing.classes = 4;
  const auto posterior = share_posterior(nothing);
  for (const auto& share : share_estimates(posterior))
    CHECK_THAT(share.mean, WithinAbs(0.25, 1e-12));
  CHECK(to_sentence(posterior.basis) == "rests on nothing counted or spoken");
}

TEST_CASE("A tally alone gives the closed-form posterior: 437 girls in 980 births") {
  // Gelman et al., Bayesian Data Analysis, section 2.4, uniform prior (from memory): mean 0.446,
  // standard deviation 0.016, central 95 % interval 0.415 to 0.477.
  const auto girls = share_estimates(share_posterior(counted({437, 543}), 1, 1.0), 0.95)[0];
  CHECK_THAT(girls.mean, WithinAbs(0.446, 0.0005));
  CHECK_THAT(girls.standard_deviation, WithinAbs(0.016, 0.0005));
  CHECK_THAT(girls.interval.lower, WithinAbs(0.415, 0.0005));
  CHECK_THAT(girls.interval.upper, WithinAbs(0.477, 0.0005));
}

TEST_CASE("Draws follow the closed-form posterior: a poll of 727, 583 and 137") {
  // Gelman et al., Bayesian Data Analysis, section 3.4, uniform prior (from memory): the first
  // leads with a probability above 0.999; its mean lead is (728 − 584)/1450 by hand.
  Generator generator(1);
  const auto draws =
      draw_shares(share_posterior(counted({727, 583, 137}), 1, 1.0), 10'000, generator);
  double lead = 0;
  int behind = 0;
  for (std::size_t i = 0; i < draws.size(); ++i) {
    lead += (draws[i][0] - draws[i][1]) / 10'000;
    behind += draws[i][0] <= draws[i][1];
  }
  CHECK_THAT(lead, WithinAbs(144.0 / 1450, 0.001));
  CHECK(behind < 10);
}

TEST_CASE("One spoken share leaves a Beta posterior of its kind, and the others in proportion") {
  auto evidence = counted({6, 3, 1, 0});
  evidence.shares = {said(0, 0.15, 0.25)};
  const auto posterior = share_posterior(evidence);
  // By hand: s = 0.2, σ² = (0.1/3.29)² + 0.1², m = 0.16/σ², alpha = counts + 1/2.
  const double m = 0.16 / (0.1 * 0.1 / (3.29 * 3.29) + 0.01);
  const double a = 6.5 + 0.2 * m, b = 5.5 + 0.8 * m;
  const auto shares = share_estimates(posterior);
  CHECK_THAT(shares[0].mean, WithinRel(a / (a + b), 1e-12));
  CHECK_THAT(shares[0].interval.lower, WithinRel(boost::math::ibeta_inv(a, b, 0.05), 1e-9));
  CHECK_THAT(shares[0].interval.upper, WithinRel(boost::math::ibeta_inv(a, b, 0.95), 1e-9));
  CHECK_THAT(shares[1].mean / shares[2].mean, WithinRel(3.5 / 1.5, 1e-9));
  CHECK_THAT(total_of_means(posterior), WithinAbs(1, 1e-12));
}

TEST_CASE("The kinds beside one spoken kind agree with quadrature") {
  auto evidence = counted({2, 5, 1});
  evidence.shares = {said(0, 0.5, 0.7)};
  const auto posterior = share_posterior(evidence);
  const ThreeClasses exact{posterior};
  const ShareMarginals shares(posterior);
  for (int kind = 0; kind < 3; ++kind) {
    const auto at = static_cast<std::size_t>(kind);
    const auto share = shares.estimate(at);
    CHECK_THAT(share.mean, WithinAbs(exact.mean(kind), 1e-6));
    const double variance = exact.mean_square(kind) - exact.mean(kind) * exact.mean(kind);
    CHECK_THAT(share.standard_deviation, WithinAbs(std::sqrt(variance), 1e-6));
    CHECK_THAT(shares.probability_at_most(at, share.interval.lower), WithinAbs(0.05, 1e-3));
    CHECK_THAT(shares.probability_at_most(at, share.interval.upper), WithinAbs(0.95, 1e-3));
  }
  // P(p_1 ≤ x) = ∫ f(p_0) I(x/(1 − p_0)) dp_0, with an outside rule.
  const double x = 0.2, a = posterior.alpha[0];
  const double b = posterior.alpha[1] + posterior.alpha[2] + posterior.against[0];
  boost::math::quadrature::tanh_sinh<double> rule(12);
  const double probability = rule.integrate(
      [&](double p) {
        const double part = std::min(1.0, x / (1 - p));
        return boost::math::ibeta_derivative(a, b, p) *
               boost::math::ibeta(posterior.alpha[1], posterior.alpha[2], part);
      },
      0.0, 1.0);
  CHECK_THAT(shares.probability_at_most(1, x), WithinAbs(probability, 1e-4));
}

TEST_CASE("Several spoken shares agree with quadrature over three classes") {
  const auto shares = GENERATE(
      // two of three kinds; all three; contradicting one another; sure ones; none of it
      std::vector{said(0, 0.6, 0.8), said(1, 0.1, 0.2)},
      std::vector{said(0, 0.3, 0.5), said(1, 0.3, 0.4), said(2, 0.2, 0.3)},
      std::vector{said(0, 0.7, 0.9), said(1, 0.6, 0.8)},
      std::vector{said(0, 0.95, 1), said(2, 0, 0)});
  auto evidence = counted({2, 1, 0});
  evidence.shares = shares;
  const auto posterior = share_posterior(evidence);
  const ThreeClasses exact{posterior};
  Generator generator(7);
  const auto draws = draw_shares(posterior, 20'000, generator);
  for (int kind = 0; kind < 3; ++kind) {
    double mean = 0, square = 0;
    for (std::size_t i = 0; i < draws.size(); ++i) {
      const double p = draws[i][static_cast<std::size_t>(kind)];
      mean += p / 20'000;
      square += p * p / 20'000;
    }
    const double sd = std::sqrt(exact.mean_square(kind) - exact.mean(kind) * exact.mean(kind));
    // About 13,000 independent draws: 0.035 standard deviations are four standard errors.
    CHECK_THAT(mean, WithinAbs(exact.mean(kind), 0.035 * sd));
    CHECK_THAT(std::sqrt(square - mean * mean), WithinRel(sd, 0.04));
    const auto share = share_estimates(posterior)[static_cast<std::size_t>(kind)];
    CHECK_THAT(share.mean, WithinAbs(exact.mean(kind), 1e-4));
    CHECK_THAT(share.standard_deviation, WithinAbs(sd, 1e-4));
  }
}

TEST_CASE("With several kinds spoken of the shares add up, whatever order the kinds stand in") {
  Generator generator(GENERATE(range(1, 13)));
  const auto pick = [&](std::size_t below) { return generator() % below; };
  Evidence evidence;
  evidence.classes = 3 + pick(6);
  evidence.looks.emplace_back(evidence.classes);
  for (auto& count : evidence.looks[0]) count = static_cast<std::int64_t>(pick(8));
  for (std::size_t kind = 0; kind < 2 + pick(evidence.classes - 1); ++kind) {
    const double low = static_cast<double>(pick(10)) / 10;
    evidence.shares.push_back(said(kind, low, low + 0.1, kind));
  }
  const auto posterior = share_posterior(evidence);
  CHECK_THAT(total_of_means(posterior), WithinAbs(1, 5e-4));

  auto turned = posterior;
  std::ranges::reverse(turned.alpha);
  std::ranges::reverse(turned.against);
  const ShareMarginals shares(posterior), mirrored(turned);
  for (std::size_t kind = 0; kind < evidence.classes; ++kind) {
    const auto share = shares.estimate(kind);
    const auto same = mirrored.estimate(evidence.classes - 1 - kind);
    CHECK_THAT(share.mean, WithinAbs(same.mean, 2e-4));
    CHECK_THAT(share.interval.lower, WithinAbs(same.interval.lower, 2e-4));
    CHECK_THAT(share.interval.upper, WithinAbs(same.interval.upper, 2e-4));
    CHECK_THAT(shares.probability_at_most(kind, share.interval.lower), WithinAbs(0.05, 1e-4));
    CHECK_THAT(shares.probability_at_most(kind, share.interval.upper), WithinAbs(0.95, 1e-4));
  }
}

TEST_CASE("The Markov chain agrees with both closed forms") {
  // A share so vague that it weighs next to nothing makes the sampler run where the closed forms
  // still hold.
  auto evidence = counted({8, 4, 2, 1});
  SECTION("tallies only") {}
  SECTION("one spoken share") {
    evidence.shares.push_back(said(1, 0.3, 0.5));
  }
  const auto closed = share_estimates(share_posterior(evidence));
  auto vague = said(0, 0.5, 0.5, 3);
  vague.spread = 1000;
  evidence.shares.push_back(vague);
  vague.kind = 2;
  evidence.shares.push_back(vague);
  const auto sampled = share_posterior(evidence);
  Generator generator(11);
  const auto draws = draw_shares(sampled, 20'000, generator);
  for (std::size_t kind = 0; kind < 4; ++kind) {
    double mean = 0;
    int within = 0;
    for (std::size_t i = 0; i < draws.size(); ++i) {
      mean += draws[i][kind] / 20'000;
      within += draws[i][kind] >= closed[kind].interval.lower &&
                draws[i][kind] <= closed[kind].interval.upper;
    }
    CHECK_THAT(mean, WithinAbs(closed[kind].mean, 0.035 * closed[kind].standard_deviation));
    CHECK_THAT(within / 20'000.0, WithinAbs(0.9, 0.011));
  }
}

TEST_CASE("Every draw adds up to one and stays within zero and one") {
  const int spoken = GENERATE(0, 1, 2, 5);
  auto evidence = counted({4, 0, 0, 2, 1});
  for (int i = 0; i < spoken; ++i)
    evidence.shares.push_back(said(static_cast<std::size_t>(i), 0.1, 0.3));
  Generator generator(3);
  const auto draws = draw_shares(share_posterior(evidence), 500, generator);
  REQUIRE(draws.size() == 500);
  for (std::size_t i = 0; i < draws.size(); ++i) {
    const auto shares = draws[i];
    CHECK(std::abs(std::accumulate(shares.begin(), shares.end(), 0.0) - 1) < 1e-12);
    CHECK(std::all_of(shares.begin(), shares.end(), [](double p) { return p >= 0 && p <= 1; }));
  }
}

TEST_CASE("The same evidence and seed give the same draws") {
  auto evidence = counted({4, 1, 2});
  evidence.shares = {said(0, 0.4, 0.6), said(1, 0.1, 0.2)};
  Generator first(5), second(5);
  CHECK(draw_shares(share_posterior(evidence), 50, first).values ==
        draw_shares(share_posterior(evidence), 50, second).values);
}

TEST_CASE("The order in which evidence comes in does not matter") {
  Evidence there, back;
  there.classes = back.classes = 3;
  there.looks = {{7, 2, 1}, {3, 3, 4}, {0, 1, 9}};
  back.looks = {{0, 1, 9}, {3, 3, 4}, {7, 2, 1}};
  there.shares = {said(0, 0.2, 0.4, 1), said(1, 0.1, 0.3, 2), said(0, 0.5, 0.5, 1)};
  back.shares = {there.shares[2], there.shares[1], there.shares[0]};
  const auto one = share_posterior(there), other = share_posterior(back);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK_THAT(one.alpha[i], WithinRel(other.alpha[i], 1e-12));
    CHECK_THAT(one.against[i], WithinRel(other.against[i], 1e-12));
  }
}

TEST_CASE("More evidence of the same sort narrows the interval") {
  double width = 1;
  for (const std::int64_t times : {1, 2, 5, 20, 100}) {
    const auto share = share_estimates(share_posterior(counted({7 * times, 2 * times, times})))[0];
    CHECK(share.interval.upper - share.interval.lower < width);
    width = share.interval.upper - share.interval.lower;
  }
}

TEST_CASE("A spoken share narrows the interval of its kind and moves it towards what was said") {
  const auto before = share_estimates(share_posterior(counted({2, 2, 2})))[0];
  auto evidence = counted({2, 2, 2});
  evidence.shares = {said(0, 0.6, 0.8)};
  const auto after = share_estimates(share_posterior(evidence))[0];
  CHECK(after.standard_deviation < before.standard_deviation);
  CHECK(after.mean > before.mean);
}

TEST_CASE("A caller's word carries less weight the wider his range and the larger his spread") {
  const auto weight = [](SpokenShare share) {
    Evidence evidence;
    evidence.classes = 3;
    evidence.shares = {share};
    const auto posterior = share_posterior(evidence);
    return posterior.alpha[0] + posterior.against[0];
  };
  auto sharp = said(0, 0.3, 0.3), wide = said(0, 0.1, 0.5), vague = said(0, 0.3, 0.3);
  vague.spread = 0.2;
  CHECK(weight(wide) < weight(sharp));
  CHECK(weight(vague) < weight(sharp));
}

TEST_CASE("What one caller says twice of one kind is not counted as two witnesses") {
  const auto weight = [](std::vector<SpokenShare> shares) {
    Evidence evidence;
    evidence.classes = 3;
    evidence.shares = std::move(shares);
    return share_posterior(evidence).against[0];
  };
  const auto once = weight({said(0, 0.3, 0.3)});
  CHECK_THAT(weight({said(0, 0.3, 0.3), said(0, 0.3, 0.3)}), WithinRel(once, 1e-12));
  CHECK_THAT(weight({said(0, 0.3, 0.3, 1), said(0, 0.3, 0.3, 2)}), WithinRel(2 * once, 1e-12));
}

TEST_CASE("A caller's known bias is taken off what he says") {
  Evidence plain, biased;
  plain.classes = biased.classes = 3;
  plain.shares = {said(0, 0.3, 0.3)};
  biased.shares = {said(0, 0.4, 0.4)};
  biased.shares[0].bias = 0.1;
  CHECK_THAT(share_posterior(biased).alpha[0], WithinRel(share_posterior(plain).alpha[0], 1e-12));
}

TEST_CASE("None at all is a statement too") {
  Evidence evidence;
  evidence.classes = 3;
  const auto before = share_estimates(share_posterior(evidence))[0];
  evidence.shares = {said(0, 0, 0)};
  const auto after = share_estimates(share_posterior(evidence))[0];
  CHECK(after.interval.upper < before.interval.upper / 2);
}

TEST_CASE(
    "Small spoken shares are put to better use by the weight one sigma inside than by the plain "
    "one") {
  // Kinds of 0 to 10 percent, said with a scatter of 0.1 and cut off at nought. The plain m = s(1 −
  // s)/σ² fades to nothing with s; over 1,500 kinds the error of the mean is to be less than two
  // thirds of its.
  Generator generator(37);
  double plain_squares = 0, squares = 0;
  for (int i = 0; i < 1500; ++i) {
    const double truth = std::uniform_real_distribution<double>(0, 0.1)(generator);
    const double heard = truth + std::normal_distribution<double>(0, 0.1)(generator);
    const double s = std::clamp(heard, 0.0, 1.0);
    Evidence evidence;
    evidence.classes = 5;
    evidence.shares = {said(0, s, s)};
    const double mean = share_estimates(share_posterior(evidence))[0].mean;
    const double m = s * (1 - s) / 0.01;
    const double plain = (0.5 + m * s) / (2.5 + m);
    squares += (mean - truth) * (mean - truth);
    plain_squares += (plain - truth) * (plain - truth);
  }
  CHECK(std::sqrt(squares) < std::sqrt(plain_squares) * 2 / 3);
}

TEST_CASE("With two classes what speaks against one speaks for the other") {
  Evidence evidence;
  evidence.classes = 2;
  evidence.shares = {said(0, 0.7, 0.7), said(1, 0.3, 0.3)};
  const auto posterior = share_posterior(evidence);
  CHECK(posterior.against == std::vector<double>{0, 0});
  CHECK_THAT(share_estimates(posterior)[0].mean, WithinAbs(0.7, 0.01));
}

TEST_CASE("A design effect of two halves what a tally weighs") {
  const auto plain = share_posterior(counted({10, 20, 30}));
  const auto patchy = share_posterior(counted({20, 40, 60}), 2);
  CHECK(plain.alpha == patchy.alpha);
  CHECK(patchy.basis.design_effect == 2);
}

TEST_CASE("Chosen samples change nothing but the sentence") {
  auto evidence = counted({20, 14});
  const auto before = share_posterior(evidence);
  evidence.chosen_not_used = 11;
  const auto after = share_posterior(evidence);
  CHECK(before.alpha == after.alpha);
  CHECK(to_sentence(after.basis) == "rests on 34 counted in 1 look; 11 chosen samples not used");
}

TEST_CASE("The basis says what a figure rests on in whole words") {
  CHECK(to_sentence({34, 4, 3, 11, 1}) ==
        "rests on 34 counted in 4 looks and 3 spoken shares; 11 chosen samples not used");
  CHECK(to_sentence({10, 1, 1, 1, 1}) ==
        "rests on 10 counted in 1 look and 1 spoken share; 1 chosen sample not used");
  CHECK(to_sentence({0, 0, 2, 0, 1}) == "rests on 2 spoken shares, nothing counted");
}

TEST_CASE("A plan's expectation weighs as many rocks as it is worth") {
  const std::vector<double> expected{0.5, 0.3, 0.0};
  const auto posterior = expected_shares(expected, 10);
  CHECK_THAT(posterior.alpha[0], WithinAbs(5.5, 1e-12));
  CHECK_THAT(posterior.alpha[1], WithinAbs(3.5, 1e-12));
  CHECK_THAT(posterior.alpha[2], WithinAbs(2.5, 1e-12));  // what is not spoken for is other
}

TEST_CASE("A station with a single class is all of that class") {
  Evidence evidence;
  evidence.classes = 1;
  evidence.looks = {{5}};
  const auto posterior = share_posterior(evidence);
  CHECK(share_estimates(posterior)[0].interval == Interval{1, 1});
  Generator generator(1);
  CHECK(draw_shares(posterior, 3, generator).values == std::vector<double>{1, 1, 1});
}

TEST_CASE("No evidence, however odd, gives a share that is not a number") {
  Generator generator(2027);
  const auto pick = [&](std::uint64_t below) { return generator() % below; };
  for (int round = 0; round < 150; ++round) {
    Evidence evidence;
    evidence.classes = 1 + pick(6);
    for (auto looks = pick(4); looks > 0; --looks) {
      std::vector<std::int64_t> look(evidence.classes);
      for (auto& count : look)
        count = static_cast<std::int64_t>(pick(4) == 0 ? pick(1'000'000'000) : pick(3));
      evidence.looks.push_back(look);
    }
    for (auto shares = pick(5); shares > 0; --shares) {
      const double a = static_cast<double>(pick(11)) / 10, b = static_cast<double>(pick(11)) / 10;
      auto share = said(pick(evidence.classes), std::min(a, b), std::max(a, b), pick(2));
      share.spread = std::pow(10.0, -static_cast<double>(pick(4)));
      share.bias = static_cast<double>(pick(5)) / 5 - 0.4;
      evidence.shares.push_back(share);
    }
    const auto posterior = share_posterior(evidence, 1 + static_cast<double>(pick(3)));
    for (const auto& share : share_estimates(posterior)) {
      CHECK((std::isfinite(share.mean) && std::isfinite(share.standard_deviation)));
      CHECK((0 <= share.interval.lower && share.interval.lower <= share.interval.upper &&
             share.interval.upper <= 1));
    }
    const auto drawn = draw_shares(posterior, 5, generator).values;
    CHECK(std::all_of(drawn.begin(), drawn.end(), [](double p) { return p >= 0 && p <= 1; }));
  }
}

}  // namespace stonecall::estimate
