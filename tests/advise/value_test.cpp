#include "console/advise/value.hpp"

#include <array>
#include <cmath>
#include <random>

#include <boost/math/distributions/poisson.hpp>
#include <catch2/catch.hpp>

#include "console/advise/meeting.hpp"

using namespace stonecall::advise;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

/// E[f(N)] by summing the Poisson law of Boost.Math far into its tail.
template <class F>
double expectation(double mean, F f) {
  if (mean == 0) return f(0);
  const boost::math::poisson law(mean);
  double sum = 0;
  for (int n = 0; n < static_cast<int>(mean + 40 * std::sqrt(mean) + 60); ++n)
    sum += boost::math::pdf(law, n) * f(n);
  return sum;
}

}  // namespace

TEST_CASE(
    "a bag is worth the weight of each kind, repeats less and less, up to the number wanted") {
  const std::array kinds{Wanted{2, 3, 0.5, 0}, Wanted{1, 1, 0.5, 0}};
  CHECK(worth_of_bag(kinds, std::array{0, 0}) == 0);
  CHECK(worth_of_bag(kinds, std::array{1, 0}) == 2);
  CHECK(worth_of_bag(kinds, std::array{3, 0}) == 3.5);
  CHECK(worth_of_bag(kinds, std::array{9, 7}) == 4.5);
}

TEST_CASE("a kind that is not wanted by name counts its first sample only") {
  const std::array kinds{Wanted{0.5, 1, 0.5, 0}};
  CHECK(worth_of_bag(kinds, std::array{4}) == 0.5);
}

TEST_CASE("rocks taken of those wanted agree with a printed Poisson table") {
  // Poisson probabilities printed to four digits,
  // www.umass.edu/wsp/statistics/tables/poisson2.html: for mean 5 p(0..3) = .0067 .0337 .0842
  // .1404; for mean 10 p(0..4) = .0000 .0005 .0023 .0076 .0189. E[min(c, N)] = c − Σ_{n<c} (c − n)
  // p(n).
  CHECK_THAT(expected_taken(5, 1), WithinAbs(1 - 0.0067, 1e-4));
  CHECK_THAT(expected_taken(5, 2), WithinAbs(2 - 2 * 0.0067 - 0.0337, 3e-4));
  CHECK_THAT(expected_taken(5, 4),
             WithinAbs(4 - 4 * 0.0067 - 3 * 0.0337 - 2 * 0.0842 - 0.1404, 6e-4));
  CHECK_THAT(expected_taken(10, 5),
             WithinAbs(5 - 4 * 0.0005 - 3 * 0.0023 - 2 * 0.0076 - 0.0189, 8e-4));
  // Cumulative table of a statistics course (P(N ≤ x), mean 2: .1353 .4060 .6767), E[min(3, N)] =
  // Σ_{x<3} (1 − P(N ≤ x)).
  CHECK_THAT(expected_taken(2, 3), WithinAbs(3 - 0.1353 - 0.4060 - 0.6767, 2e-4));
}

TEST_CASE("rocks taken agree with the summed Poisson law of Boost.Math") {
  const double mean = GENERATE(0.0, 1e-9, 0.01, 0.5, 1.0, 3.3, 12.0, 60.0, 400.0);
  const int number = GENERATE(0, 1, 2, 3, 8, 32);
  CAPTURE(mean, number);
  CHECK_THAT(expected_taken(mean, number),
             WithinAbs(expectation(mean, [&](int n) { return std::min(n, number); }), 1e-9));
}

TEST_CASE("worth expected agrees with the bag's worth summed over the Poisson law") {
  const double mean = GENERATE(0.0, 0.2, 1.0, 4.0, 25.0);
  const double repeat = GENERATE(0.0, 0.5, 1.0);
  const int have = GENERATE(0, 1, 3, 5);
  const Wanted kind{1.5, 4, repeat, have};
  CAPTURE(mean, repeat, have);
  const std::array kinds{kind};
  const double before = worth_of_bag(kinds, std::array{have});
  CHECK_THAT(expected_worth(mean, kind),
             WithinAbs(expectation(mean,
                                   [&](int n) {
                                     return worth_of_bag(kinds, std::array{have + n}) - before;
                                   }),
                       1e-9));
}

TEST_CASE(
    "more rocks met never lower the worth expected, and each adds no more than the one before") {
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> uniform;
  for (int i = 0; i < 200; ++i) {
    const Wanted kind{uniform(random), 1 + i % 7, uniform(random), i % 3};
    const double step = 0.05 + uniform(random);
    double last = 0, last_gain = 1e9;
    for (int k = 1; k < 30; ++k) {
      const double worth = expected_worth(k * step, kind);
      CHECK(worth >= last - 1e-12);
      CHECK(worth - last <= last_gain + 1e-12);
      last_gain = worth - last;
      last = worth;
    }
  }
}

TEST_CASE("the fast falling exponential agrees with the standard one to five digits") {
  for (float x = 0; x < 79; x += 0.0937f) CHECK_THAT(falling(x), WithinRel(std::exp(-x), 1e-5f));
  CHECK(falling(1e30f) < 1e-34f);
}

TEST_CASE("what many draws meet and gain at once agrees with the closed forms one by one") {
  std::mt19937_64 random(3);
  std::uniform_real_distribution<double> uniform;
  const std::array kinds{Wanted{1, 1, 0.5, 0}, Wanted{2, 5, 0.7, 1}, Wanted{0.5, 32, 1, 0},
                         Wanted{1, 2, 0, 2}};
  std::vector<Draw> draws(13);
  for (Draw& draw : draws) {
    for (std::size_t k = 0; k < kinds.size(); ++k) draw.here.push_back(uniform(random));
    draw.looks_per_minute = 2 * uniform(random);
    draw.handling_minutes = 0;
  }
  const Meeting meeting(kinds, draws, 0, 1);
  for (const double minutes : {0.0, 0.5, 7.0, 60.0}) {
    Met met = meeting.nothing_met();
    Looks looks;
    meeting.stay(0, minutes, met, looks);
    const auto gained = meeting.gained(met);
    REQUIRE(gained.size() == draws.size());
    for (std::size_t d = 0; d < draws.size(); ++d) {
      double expected = 0;
      for (std::size_t k = 0; k < kinds.size(); ++k)
        expected +=
            expected_worth(draws[d].here[k] * draws[d].looks_per_minute * minutes, kinds[k]);
      CHECK_THAT(gained[d], WithinAbs(expected, 1e-4));
    }
  }
}

TEST_CASE("looking and handling together fill the minutes of a stay") {
  // One kind, one wanted, seen at once: 1 − e^−(rate·look) taken. look + handling·taken must be the
  // clock.
  const std::array kinds{Wanted{1, 1, 0.5, 0}};
  std::vector<Draw> draws(1);
  draws[0] = {{0.25}, {}, 2, 4};
  const Meeting meeting(kinds, draws, 0, 1);
  Met met = meeting.nothing_met();
  Looks looks;
  meeting.stay(0, 10, met, looks);
  CHECK_THAT(looks[0] + 4 * (1 - std::exp(-0.5 * looks[0])), WithinAbs(10, 0.02));
  CHECK_THAT(met.mean[0], WithinRel(0.5f * looks[0], 1e-5f));
}
