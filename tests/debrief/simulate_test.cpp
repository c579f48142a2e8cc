#include "console/debrief/simulate.hpp"

#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

using namespace stonecall::debrief;

namespace {

TrueGround one_station(std::vector<double> shares, double patchiness) {
  return {{{std::move(shares)}}, patchiness};
}

/// Variance of the count of the first kind over many looks of ten.
double variance_of_looks(double patchiness) {
  const TrueGround ground = one_station({0.3, 0.7}, patchiness);
  Generator generator(1);
  double sum = 0, square = 0;
  constexpr int looks = 20000;
  for (int i = 0; i < looks; ++i) {
    const auto met = static_cast<double>(look(ground, 0, 10, generator)[0]);
    sum += met;
    square += met * met;
  }
  return square / looks - std::pow(sum / looks, 2);
}

}  // namespace

TEST_CASE("looks at even ground scatter as multinomial counts do") {
  // n p (1 − p) = 2.1; standard error of the variance about 0.02, so that four of them are rarely
  // passed (1 in 10,000).
  CHECK(variance_of_looks(0) == Approx(2.1).margin(0.08));
}

TEST_CASE("looks at patchy ground scatter as the Dirichlet-multinomial says") {
  // n p (1 − p)·(1 + (n − 1)ρ), Johnson, Kotz & Balakrishnan (1997) Discrete Multivariate
  // Distributions; from memory.
  CHECK(variance_of_looks(0.15) == Approx(2.1 * (1 + 9 * 0.15)).margin(0.25));
}

TEST_CASE("a party hunting for what is wanted bags a sample that is not the ground") {
  const TrueGround ground = one_station({0.9, 0.1}, 0);
  Party party(ground, {}, {3, 3}, 1);
  party.work(0, 240, 1e9);
  CHECK(party.heard(0).chosen == std::vector<std::int64_t>{3, 3});
}

TEST_CASE("work takes the time it was given, and a sample begun is finished") {
  const TrueGround ground = one_station({0.5, 0.5}, 0.1);
  Habits habits;
  Party party(ground, habits, {9, 9}, 2);
  for (int i = 0; i < 20; ++i) {
    const double used = party.work(0, 5, 1e9);
    CHECK(used >= 5 - 1e-9);
    CHECK(used <= 5 + 1.5 * habits.handling_minutes + habits.look_minutes);
  }
}

TEST_CASE("a sample that would take the party past its limit is left lying") {
  const TrueGround ground = one_station({1.0}, 0);
  Party party(ground, {}, {99}, 3);
  for (int i = 0; i < 30; ++i) CHECK(party.work(0, 4, 4) <= 4 + Habits{}.look_minutes);
}

TEST_CASE("a biased caller speaks above the truth by the bias on average") {
  const TrueGround ground = one_station({0.4, 0.6}, 0);
  Generator generator(4);
  double sum = 0;
  for (int i = 0; i < 4000; ++i) sum += *speak(ground, 0, 0, 0, {0.1, 0.05}, generator).best;
  // Standard error 0.0008.
  CHECK(sum / 4000 == Approx(0.5).margin(0.004));
}

TEST_CASE("the same seed gives the same exercise") {
  const TrueGround ground = one_station({0.2, 0.3, 0.5}, 0.1);
  Party a(ground, {}, {2, 2, 2}, 9), b(ground, {}, {2, 2, 2}, 9);
  a.work(0, 60, 1e9);
  b.work(0, 60, 1e9);
  CHECK(a.heard(0).looks == b.heard(0).looks);
  CHECK(a.heard(0).chosen == b.heard(0).chosen);
}
