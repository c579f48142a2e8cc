#include "console/estimate/caller.hpp"

#include <cmath>
#include <random>
#include <vector>

#include <catch2/catch.hpp>

#include "console/estimate/disagreement.hpp"

namespace stonecall::estimate {
namespace {

using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

// A caller who is off by `bias` on average and scatters by `spread`, against tallies of forty.
std::vector<SpokenAndCounted> heard(int pairs, double bias, double spread,
                                    std::mt19937_64& generator) {
  std::vector<SpokenAndCounted> all;
  for (int i = 0; i < pairs; ++i) {
    const double share = std::uniform_real_distribution<double>(0.3, 0.6)(generator);
    SpokenAndCounted pair;
    pair.spoken = share + bias + std::normal_distribution<double>(0, spread)(generator);
    pair.counted = 40;
    pair.met = std::binomial_distribution<std::int64_t>(40, share)(generator);
    all.push_back(pair);
  }
  return all;
}

SpokenShare said(double low, double high, double spread = 0.10) {
  SpokenShare share;
  share.low = low;
  share.high = high;
  share.spread = spread;
  return share;
}

}  // namespace

TEST_CASE("A caller never compared with a tally has the setting's spread and no bias") {
  const auto record = learn_caller({}, 0.12);
  CHECK(record.pairs == 0);
  CHECK(record.bias == 0);
  CHECK(record.spread == 0.12);
  CHECK(record.bias_error == 0.06);
}

TEST_CASE("A pair that tells nothing leaves the setting as it is") {
  // Said with a range so wide that any difference fits.
  const SpokenAndCounted vague{0.5, 1000, 3, 10, 1};
  const auto record = learn_caller(std::vector{vague}, 0.12);
  CHECK_THAT(record.spread, WithinRel(0.12, 0.01));
  CHECK_THAT(record.bias, WithinAbs(0, 1e-3));
  CHECK_THAT(record.bias_error, WithinRel(0.06, 0.01));
}

TEST_CASE("A caller who sees too much of everything is found out") {
  std::mt19937_64 generator(2);
  const auto record = learn_caller(heard(60, 0.12, 0.04, generator));
  CHECK_THAT(record.bias, WithinAbs(0.12, 0.03));
  CHECK_THAT(record.spread, WithinAbs(0.04, 0.03));
}

TEST_CASE("A wild caller earns a larger spread than the setting") {
  std::mt19937_64 generator(3);
  CHECK_THAT(learn_caller(heard(60, 0, 0.25, generator)).spread, WithinAbs(0.25, 0.06));
}

TEST_CASE("A pair is judged by what the others alone would have taught") {
  std::mt19937_64 generator(7);
  CHECK(learn_without_each({}).empty());
  for (const int count : {1, 2, 3, 30}) {
    auto pairs = heard(count, 0.1, 0.06, generator);
    pairs.front().spoken = 1;  // one far off
    pairs.back().range = 0.2;
    const auto records = learn_without_each(pairs, 0.08);
    REQUIRE(records.size() == pairs.size());
    for (std::size_t i = 0; i < pairs.size(); ++i) {
      auto others = pairs;
      others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
      const auto alone = learn_caller(others, 0.08);
      CHECK(records[i].pairs == alone.pairs);
      CHECK_THAT(records[i].bias, WithinAbs(alone.bias, 1e-10));
      CHECK_THAT(records[i].bias_error, WithinAbs(alone.bias_error, 1e-10));
      CHECK_THAT(records[i].spread, WithinAbs(alone.spread, 1e-10));
    }
  }
}

TEST_CASE("The more pairs, the surer the bias") {
  std::mt19937_64 generator(4);
  const auto pairs = heard(40, 0.05, 0.08, generator);
  double error = 1;
  for (const std::size_t count : {0u, 2u, 8u, 40u}) {
    const auto record = learn_caller(std::span(pairs).first(count));
    CHECK(record.bias_error < error);
    error = record.bias_error;
  }
}

TEST_CASE("One bad guess is not yet a biased caller") {
  const SpokenAndCounted off{0.8, 0.1, 12, 40, 1};  // half too much
  const auto record = learn_caller(std::vector{off});
  CHECK(record.bias > 0);
  CHECK(record.bias < 0.25);
  CHECK(record.spread > 0.10);
}

TEST_CASE("The order of pairs does not matter, and a few tallied rocks weigh less than many") {
  const SpokenAndCounted a{0.6, 0.1, 4, 10, 1}, b{0.3, 0.2, 5, 50, 1};
  const auto one = learn_caller(std::vector{a, b}), other = learn_caller(std::vector{b, a});
  CHECK_THAT(one.bias, WithinAbs(other.bias, 1e-12));
  const SpokenAndCounted many{0.6, 0.1, 40, 100, 1};
  CHECK(learn_caller(std::vector{many}).bias > learn_caller(std::vector{a}).bias);
}

TEST_CASE("Learned spread and bias make a caller's true errors fit nine times in ten") {
  // Errors of new statements against bias ± 1.645·√(spread² + bias error²). 400 callers with six
  // pairs each; standard error 1.5 %.
  std::mt19937_64 generator(6);
  int within = 0;
  for (int caller = 0; caller < 400; ++caller) {
    const double spread = 0.1 * std::sqrt(2 / std::chi_squared_distribution<double>(4)(generator));
    const double bias = std::normal_distribution<double>(0, 0.05)(generator);
    const auto record = learn_caller(heard(6, bias, spread, generator));
    const double error = bias + std::normal_distribution<double>(0, spread)(generator);
    within += std::abs(error - record.bias) <= 1.645 * record.spread_with_bias_error();
  }
  CHECK_THAT(within / 400.0, WithinAbs(0.9, 0.045));
}

TEST_CASE("With hardly anything counted a caller may say anything") {
  const auto word = expected_word(0, 0, 1, said(0.5, 0.5));
  CHECK(word.range.lower == 0);
  CHECK(word.range.upper == 1);
}

TEST_CASE("After very many rocks only the caller's own scatter is left") {
  // 40 % of 10^7 rocks: 0.4 ± 2.5758·0.1 by hand.
  const auto word = expected_word(4'000'000, 10'000'000, 1, said(0.4, 0.4));
  CHECK_THAT(word.range.lower, WithinAbs(0.4 - 0.25758, 1e-4));
  CHECK_THAT(word.range.upper, WithinAbs(0.4 + 0.25758, 1e-4));
}

TEST_CASE("The expected word moves with the caller's bias") {
  auto caller = said(0.5, 0.5);
  const auto plain = expected_word(20, 40, 1, caller);
  caller.bias = 0.1;
  const auto biased = expected_word(20, 40, 1, caller);
  CHECK_THAT(biased.share - plain.share, WithinAbs(0.1, 1e-12));
  CHECK(biased.range.upper > plain.range.upper);
}

TEST_CASE("Nine times as much as the tally is a disagreement, and both figures are told") {
  Evidence evidence;
  evidence.classes = 2;
  evidence.looks = {{3, 57}};
  evidence.shares = {said(0.05, 0.15), said(0.4, 0.5)};
  const auto found = disagreements(evidence);
  REQUIRE(found.size() == 1);
  CHECK(found[0].share == 1);
  CHECK_THAT(found[0].said, WithinAbs(0.45, 1e-12));
  CHECK(found[0].met == 3);
  CHECK(found[0].counted == 60);
  CHECK(found[0].expected.range.upper < 0.45);
}

TEST_CASE("Without a tally nobody can disagree with one") {
  Evidence evidence;
  evidence.classes = 2;
  evidence.shares = {said(0.9, 1)};
  CHECK(disagreements(evidence).empty());
}

TEST_CASE("Patchy ground excuses a caller") {
  Evidence evidence;
  evidence.classes = 2;
  evidence.looks = {{10, 10}};
  evidence.shares = {said(0.85, 0.95)};
  CHECK(disagreements(evidence).size() == 1);
  CHECK(disagreements(evidence, 8).empty());
}

TEST_CASE("Honest callers disagree one time in a hundred") {
  // Share and words drawn from the model; 3,000 statements, standard error 0.2 %.
  std::mt19937_64 generator(8);
  int raised = 0;
  for (int i = 0; i < 3000; ++i) {
    const double share = std::uniform_real_distribution<double>(0.25, 0.75)(generator);
    Evidence evidence;
    evidence.classes = 2;
    const auto met = std::binomial_distribution<std::int64_t>(20, share)(generator);
    evidence.looks = {{met, 20 - met}};
    const double figure =
        std::min(1.0, std::max(0.0, share + std::normal_distribution<double>(0, 0.1)(generator)));
    evidence.shares = {said(figure, figure)};
    raised += !disagreements(evidence).empty();
  }
  CHECK(raised < 0.02 * 3000);
}

}  // namespace stonecall::estimate
