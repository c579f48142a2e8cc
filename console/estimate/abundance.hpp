#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "console/estimate/basis.hpp"
#include "console/estimate/coupled_shares.hpp"

namespace stonecall::estimate {

/// Random numbers are handed in, seeded: the same evidence and seed give the same answer.
using Generator = std::mt19937_64;

/// "About one in five are …": one caller's word for the share of one kind. Shares are fractions.
struct SpokenShare {
  std::size_t kind = 0;        ///< index of its class
  double low = 0;              ///< 0 ≤ low ≤ high ≤ 1, the range as it was said
  double high = 1;             ///< as above
  std::optional<double> best;  ///< within the range; else the middle
  /// Who said it: what one caller says twice of one kind is wrong twice alike.
  std::size_t caller = 0;
  double bias = 0;       ///< what this caller says is on average this much above the tallies
  double spread = 0.10;  ///< > 0: scatter (one standard deviation) of this caller's shares
  auto operator<=>(const SpokenShare&) const = default;
};

/// What is known of the shares at one station. A class is a kind of rock; by custom the last one is
/// "other". Chosen samples have no place here; they are only counted, so that a reader sees they
/// were not used.
struct Evidence {
  std::size_t classes = 0;  ///< at least 1
  /// One unselective tally each: a count ≥ 0 per class.
  std::vector<std::vector<std::int64_t>> looks;
  std::vector<SpokenShare> shares;
  std::int64_t chosen_not_used = 0;
};

/// What a figure rests on.
struct Basis {
  std::int64_t counted = 0;
  std::int64_t looks = 0;
  std::int64_t shares = 0;
  std::int64_t chosen_not_used = 0;
  double design_effect = 1;
};

/// "rests on 34 counted in 4 looks and 3 spoken shares; 11 chosen samples not used"
std::string to_sentence(const Basis& basis);

/// The posterior of the shares p of all classes at a station; its density is proportional to
/// Π p_i^(alpha_i − 1) · (1 − p_i)^against_i. With `against` all 0 it is a Dirichlet distribution.
struct SharePosterior {
  std::vector<double> alpha;    ///< > 0 each: prior + tallies / design effect + spoken for
  std::vector<double> against;  ///< ≥ 0 each: weight of spoken shares against
  Basis basis;

  std::size_t classes() const { return alpha.size(); }
};

/// Prior of `prior_each` per class (1/2: Jeffreys) plus the evidence. `design_effect` ≥ 1 divides
/// the tallies (patchiness.hpp). A spoken share s, the caller's figure less the bias, weighs as
///   p^(m·s) · (1 − p)^(m·(1 − s)), m = s(1 − s)/σ², σ² = ((high − low)/(2·1.645))² + spread².
/// Near the ends, where s is less than one σ from 0 or 1, m is taken one σ inside, else "none at
/// all" would weigh nothing. Several figures of one caller for one kind weigh as their mean: the
/// ranges average out, the spread does not.
SharePosterior share_posterior(const Evidence& evidence, double design_effect = 1,
                               double prior_each = 0.5);

/// A plan's expectation as a posterior: expected shares (fractions adding up to at most 1 over all
/// classes but the last, which takes the rest), worth `sureness` > 0 counted rocks, on top of
/// `prior_each`.
SharePosterior expected_shares(std::span<const double> shares, double sureness,
                               double prior_each = 0.5);

/// Share vectors, one a row, each adding up to 1.
struct ShareDraws {
  std::size_t classes = 0;
  std::vector<double> values;  ///< row-major

  std::size_t size() const { return classes == 0 ? 0 : values.size() / classes; }
  std::span<const double> operator[](std::size_t draw) const {
    return std::span(values).subspan(draw * classes, classes);
  }
};

/// Draws from the posterior. Independent where spoken shares concern no kind or one; with several
/// they come from a Markov chain, thinned so that neighbours hardly depend on each other.
ShareDraws draw_shares(const SharePosterior& posterior, std::size_t draws, Generator& generator);

struct ShareEstimate {
  double mean = 0;
  double standard_deviation = 0;
  Interval interval;
};

/// The shares of the classes one by one, exact to four digits: closed form where no kind was spoken
/// of or that one alone, else quadrature.
class ShareMarginals {
 public:
  explicit ShareMarginals(SharePosterior posterior);

  std::size_t classes() const { return posterior_.classes(); }
  /// Mean and central interval; confidence in (0, 1).
  ShareEstimate estimate(std::size_t kind, double confidence = shown_confidence) const;
  /// P(share of the class is at most x); x in [0, 1].
  double probability_at_most(std::size_t kind, double x) const;

 private:
  template <class Ask>
  auto ask(std::size_t kind, const Ask& ask) const;  ///< the distribution of the kind's share

  SharePosterior posterior_;
  std::vector<std::size_t> spoken_;  ///< kinds that something was said of
  /// Of the spoken kinds, if several, and of the rest together, if there is one.
  std::vector<TabulatedShare> coupled_;
};

/// ShareMarginals' estimate of every class.
std::vector<ShareEstimate> share_estimates(const SharePosterior& posterior,
                                           double confidence = shown_confidence);

}  // namespace stonecall::estimate
