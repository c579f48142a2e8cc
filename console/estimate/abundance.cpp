#include "console/estimate/abundance.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <utility>

#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/tools/roots.hpp>

#include "console/estimate/caller.hpp"

namespace stonecall::estimate {
namespace {

namespace bm = boost::math;
// Doubles suffice: the fourth digit of a share is never shown.
using Doubles = bm::policies::policy<bm::policies::promote_double<false>>;
constexpr Doubles doubles;

double sum(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0);
}

// --- weighing what was said ---

struct Weight {
  double towards = 0;  // exponent of p
  double against = 0;  // exponent of 1 − p
};

Weight weigh(double share, double sigma) {
  const double inset = std::min(sigma, 0.5);
  const double inside = std::clamp(share, inset, 1 - inset);
  const double m = inside * (1 - inside) / (sigma * sigma);
  return {m * share, m * (1 - share)};
}

// All figures of one caller for one kind.
struct Said {
  double sum = 0;
  double range_variance_sum = 0;
  double count = 0;
  double spread = 0;
};

std::map<std::pair<std::size_t, std::size_t>, Said> by_kind_and_caller(
    std::span<const SpokenShare> shares) {
  std::map<std::pair<std::size_t, std::size_t>, Said> said;
  for (const auto& share : shares) {
    assert(0 <= share.low && share.low <= share.high && share.high <= 1 && share.spread > 0);
    const double figure = share.best.value_or((share.low + share.high) / 2) - share.bias;
    const double range_sigma = sigma_of_range(share.high - share.low);
    auto& all = said[{share.kind, share.caller}];
    all.sum += std::clamp(figure, 0.0, 1.0);
    all.range_variance_sum += range_sigma * range_sigma;
    all.count += 1;
    all.spread = std::max(all.spread, share.spread);
  }
  return said;
}

// --- drawing ---

double uniform(Generator& generator) {
  return static_cast<double>(generator() >> 11) * 0x1p-53;  // 53 random bits, [0, 1)
}

// Dirichlet by normalised gammas, written over `out`, scaled to add up to `scale`.
void draw_dirichlet(std::span<const double> alpha, double scale, Generator& generator,
                    std::span<double> out) {
  double total = 0;
  for (std::size_t i = 0; i < alpha.size(); ++i) {
    out[i] = std::gamma_distribution<double>(alpha[i])(generator);
    total += out[i];
  }
  if (!(total > 0)) {  // every gamma underflowed: priors far below any sensible one
    std::fill(out.begin(), out.end(), 0.0);
    out[static_cast<std::size_t>(uniform(generator) * static_cast<double>(out.size()))] = scale;
    return;
  }
  for (auto& x : out) x *= scale / total;
}

std::vector<std::size_t> spoken_kinds(const SharePosterior& posterior) {
  std::vector<std::size_t> kinds;
  for (std::size_t i = 0; i < posterior.classes(); ++i) {
    if (posterior.against[i] > 0) kinds.push_back(i);
  }
  return kinds;
}

// Markov chain on the simplex of the spoken kinds and, as one part, all the rest. The density is
// Π p_i^(a_i − 1)(1 − p_i)^b_i, so when two parts trade amounts the others do not enter, and one
// step costs the same however many kinds there are. Each step draws the split of a pair by slice
// sampling (Neal 2003, Annals of Statistics 31:705-767, shrinking from the whole width), which
// needs no tuning and rejects nothing.
class TradingChain {
 public:
  struct Part {
    double alpha;
    double against;
    double share;
  };

  TradingChain(std::vector<Part> parts, Generator& generator)
      : parts_(std::move(parts)), generator_(generator) {
    double total = 0;
    for (const auto& part : parts_) total += part.alpha;
    for (auto& part : parts_) part.share = part.alpha / total;
    for (int sweep = 0; sweep < sweeps_to_forget_the_start; ++sweep) this->sweep();
  }

  void advance() {
    const int sweeps = std::max(1, static_cast<int>(8 / parts_.size()));
    for (int i = 0; i < sweeps; ++i) sweep();
    double total = 0;
    for (const auto& part : parts_) total += part.share;
    for (auto& part : parts_) part.share /= total;
  }

  std::span<const Part> parts() const { return parts_; }

 private:
  static constexpr int sweeps_to_forget_the_start = 60;

  void sweep() {
    const auto count = static_cast<double>(parts_.size() - 1);
    for (std::size_t i = 0; i < parts_.size(); ++i) {
      auto j = static_cast<std::size_t>(uniform(generator_) * count);
      if (j >= i) ++j;
      trade(parts_[i], parts_[j]);
    }
  }

  void trade(Part& a, Part& b) {
    const double both = a.share + b.share;
    if (!(both > std::numeric_limits<double>::min())) return;
    const auto log_density = [&](double x) {
      if (!(x > 0 && x < 1)) return -std::numeric_limits<double>::infinity();
      double sum = (a.alpha - 1) * std::log(x) + (b.alpha - 1) * std::log(1 - x);
      if (a.against > 0) sum += a.against * std::log(1 - both * x);
      if (b.against > 0) sum += b.against * std::log(1 - both * (1 - x));
      return sum;
    };
    const double now = a.share / both;
    const double level = log_density(now) + std::log1p(-uniform(generator_));
    double lower = 0, upper = 1;
    // The start lies on the slice, so halving towards it ends; the bound only guards against
    // rounding.
    for (int tries = 0; tries < 200; ++tries) {
      const double x = lower + uniform(generator_) * (upper - lower);
      if (log_density(x) >= level) {
        a.share = both * x;
        b.share = both * (1 - x);
        return;
      }
      (x < now ? lower : upper) = x;
    }
  }

  std::vector<Part> parts_;
  Generator& generator_;
};

}  // namespace

std::string to_sentence(const Basis& basis) {
  const auto counted = [](std::int64_t n, const char* one, const char* many) {
    return std::to_string(n) + " " + (n == 1 ? one : many);
  };
  std::string text;
  if (basis.counted > 0) {
    text = "rests on " + std::to_string(basis.counted) + " counted in " +
           counted(basis.looks, "look", "looks");
    if (basis.shares > 0) text += " and " + counted(basis.shares, "spoken share", "spoken shares");
  } else if (basis.shares > 0) {
    text =
        "rests on " + counted(basis.shares, "spoken share", "spoken shares") + ", nothing counted";
  } else {
    text = "rests on nothing counted or spoken";
  }
  if (basis.chosen_not_used > 0) {
    text += "; " + counted(basis.chosen_not_used, "chosen sample", "chosen samples") + " not used";
  }
  return text;
}

SharePosterior share_posterior(const Evidence& evidence, double design_effect, double prior_each) {
  assert(evidence.classes >= 1 && design_effect >= 1 && prior_each > 0);
  SharePosterior posterior;
  posterior.alpha.assign(evidence.classes, prior_each);
  posterior.against.assign(evidence.classes, 0.0);
  auto& basis = posterior.basis;
  for (const auto& look : evidence.looks) {
    assert(look.size() == evidence.classes);
    for (std::size_t i = 0; i < look.size(); ++i) {
      assert(look[i] >= 0);
      posterior.alpha[i] += static_cast<double>(look[i]) / design_effect;
      basis.counted += look[i];
    }
  }
  for (const auto& [who, said] : by_kind_and_caller(evidence.shares)) {
    assert(who.first < evidence.classes);
    const double sigma =
        std::sqrt(said.range_variance_sum / (said.count * said.count) + said.spread * said.spread);
    const auto weight = weigh(said.sum / said.count, sigma);
    posterior.alpha[who.first] += weight.towards;
    posterior.against[who.first] += weight.against;
  }
  if (evidence.classes == 2) {  // what speaks against one kind speaks for the only other
    posterior.alpha[0] += posterior.against[1];
    posterior.alpha[1] += posterior.against[0];
    posterior.against = {0, 0};
  }
  basis.looks = static_cast<std::int64_t>(evidence.looks.size());
  basis.shares = static_cast<std::int64_t>(evidence.shares.size());
  basis.chosen_not_used = evidence.chosen_not_used;
  basis.design_effect = design_effect;
  return posterior;
}

SharePosterior expected_shares(std::span<const double> shares, double sureness, double prior_each) {
  assert(!shares.empty() && sureness > 0 && prior_each > 0);
  SharePosterior posterior;
  for (const double share : shares) posterior.alpha.push_back(prior_each + sureness * share);
  const double rest = 1 - sum(shares.first(shares.size() - 1));
  posterior.alpha.back() = prior_each + sureness * std::max(0.0, rest);
  posterior.against.assign(shares.size(), 0.0);
  return posterior;
}

ShareDraws draw_shares(const SharePosterior& posterior, std::size_t draws, Generator& generator) {
  const auto classes = posterior.classes();
  ShareDraws result{classes, std::vector<double>(draws * classes)};
  const auto spoken = spoken_kinds(posterior);
  std::vector<double> rest_alpha;
  std::vector<std::size_t> rest;
  for (std::size_t i = 0; i < classes; ++i) {
    if (posterior.against[i] > 0) continue;
    rest.push_back(i);
    rest_alpha.push_back(posterior.alpha[i]);
  }
  std::vector<double> rest_shares(rest.size());
  const auto fill_rest = [&](std::size_t draw, double scale) {
    draw_dirichlet(rest_alpha, scale, generator, rest_shares);
    for (std::size_t i = 0; i < rest.size(); ++i) {
      result.values[draw * classes + rest[i]] = rest_shares[i];
    }
  };

  if (classes == 1) {
    std::fill(result.values.begin(), result.values.end(), 1.0);
  } else if (spoken.empty()) {
    for (std::size_t draw = 0; draw < draws; ++draw) fill_rest(draw, 1);
  } else if (spoken.size() == 1) {
    const auto kind = spoken.front();
    std::vector<double> pair(2);
    const std::vector<double> ab{posterior.alpha[kind], sum(rest_alpha) + posterior.against[kind]};
    for (std::size_t draw = 0; draw < draws; ++draw) {
      draw_dirichlet(ab, 1, generator, pair);
      result.values[draw * classes + kind] = pair[0];
      fill_rest(draw, pair[1]);
    }
  } else {
    std::vector<TradingChain::Part> parts;
    for (const auto kind : spoken)
      parts.push_back({posterior.alpha[kind], posterior.against[kind], 0});
    if (!rest.empty()) parts.push_back({sum(rest_alpha), 0, 0});
    TradingChain chain(std::move(parts), generator);
    for (std::size_t draw = 0; draw < draws; ++draw) {
      chain.advance();
      for (std::size_t i = 0; i < spoken.size(); ++i) {
        result.values[draw * classes + spoken[i]] = chain.parts()[i].share;
      }
      if (!rest.empty()) fill_rest(draw, chain.parts().back().share);
    }
  }
  return result;
}

namespace {

// --- marginals ---

struct Beta {
  double a, b;
  double mean() const { return a / (a + b); }
  double variance() const { return mean() * (b / (a + b)) / (a + b + 1); }
  double at_most(double x) const { return x <= 0 ? 0 : x >= 1 ? 1 : bm::ibeta(a, b, x, doubles); }
  double density(double x) const {
    return x <= 0 || x >= 1 ? 0 : bm::ibeta_derivative(a, b, x, doubles);
  }
  Interval interval(double confidence) const {
    const double tail = (1 - confidence) / 2;
    return {bm::ibeta_inv(a, b, tail, doubles), bm::ibetac_inv(a, b, tail, doubles)};
  }
  // The share that is exceeded with this probability, which may be next to nothing.
  double exceeded(double probability) const {
    return probability < 0.5 ? bm::ibetac_inv(a, b, probability, doubles)
                             : bm::ibeta_inv(a, b, 1 - probability, doubles);
  }
};

// A class beside the spoken kinds: its share is (what those leave) × (its part of it), two
// independent variables, of which the part is a Beta one.
template <class Left>
class Product {
 public:
  Product(const Left& left, const Beta& part) : left_(left), part_(part) {}

  double at_most(double x) const {
    return x <= 0 ? 0 : x >= 1 ? 1 : std::clamp(at_most_and_density(x).first, 0.0, 1.0);
  }

  double mean() const { return left_.mean() * part_.mean(); }
  double variance() const {
    return left_.mean() * left_.mean() * part_.variance() +
           part_.mean() * part_.mean() * left_.variance() + left_.variance() * part_.variance();
  }
  Interval interval(double confidence) const {
    const double tail = (1 - confidence) / 2;
    // The Beta of this mean and variance comes close (Fan 1991) and saves most of the search.
    const double size = mean() * (1 - mean()) / variance() - 1;
    const auto guess = Beta{mean() * size, (1 - mean()) * size}.interval(confidence);
    return {quantile(tail, guess.lower), quantile(1 - tail, guess.upper)};
  }

 private:
  // Where what is left is below x, so is the share. From there on the distribution function and the
  // density of the part are taken over the probability u of what is left, at Gauss-Legendre points
  // crowded towards both ends by u = t²(3 − 2t): at the lower one the part's bend, where a part as
  // large as all that is left begins to count, at the upper one the quantile does. (Points over all
  // of u would not know where the lower bend is: with half a rock on either side that is wrong by
  // half a percent.)
  std::pair<double, double> at_most_and_density(double x) const {
    using Rule = bm::quadrature::gauss<double, 20>;
    const double surely = left_.at_most(x);
    double probability = surely, density = 0;
    for (std::size_t i = 0; i < Rule::abscissa().size(); ++i) {
      for (const double side : {-1.0, 1.0}) {
        const double t = (1 + side * Rule::abscissa()[i]) / 2;
        const double beyond = (1 - surely) * (1 - t * t * (3 - 2 * t));
        const double left = std::max(left_.exceeded(beyond), x);
        const double weight = (1 - surely) * Rule::weights()[i] / 2 * 6 * t * (1 - t);
        probability += weight * part_.at_most(x / left);
        density += weight * part_.density(x / left) / left;
      }
    }
    return {probability, density};
  }

  double quantile(double probability, double guess) const {
    const auto beyond_and_density = [&](double x) {
      const auto [at_most, density] = at_most_and_density(x);
      return std::pair(at_most - probability, density);
    };
    std::uintmax_t steps = 30;
    constexpr int bits = 22;
    return bm::tools::newton_raphson_iterate(
        beyond_and_density, std::clamp(guess, 1e-12, 1 - 1e-12), 0.0, 1.0, bits, steps);
  }

  const Left& left_;
  Beta part_;
};

Beta beta_of(const SharePosterior& posterior, std::size_t kind) {
  const double a = posterior.alpha[kind];
  return {a, sum(posterior.alpha) - a + posterior.against[kind]};
}

// Of the classes that nothing was said of, together.
double alpha_of_rest(const SharePosterior& posterior) {
  double rest = 0;
  for (std::size_t i = 0; i < posterior.classes(); ++i) {
    if (posterior.against[i] == 0) rest += posterior.alpha[i];
  }
  return rest;
}

Beta part_of_rest(const SharePosterior& posterior, std::size_t kind) {
  return {posterior.alpha[kind], alpha_of_rest(posterior) - posterior.alpha[kind]};
}

template <class Share>
ShareEstimate estimate_of(const Share& share, double confidence) {
  return {share.mean(), std::sqrt(share.variance()), share.interval(confidence)};
}

}  // namespace

ShareMarginals::ShareMarginals(SharePosterior posterior)
    : posterior_(std::move(posterior)), spoken_(spoken_kinds(posterior_)) {
  if (classes() == 1 || spoken_.size() < 2) return;
  std::vector<CoupledPart> parts;
  for (const auto kind : spoken_)
    parts.push_back({posterior_.alpha[kind], posterior_.against[kind]});
  if (spoken_.size() < classes()) parts.push_back({alpha_of_rest(posterior_), 0});
  coupled_ = coupled_shares(parts);
}

template <class Ask>
auto ShareMarginals::ask(std::size_t kind, const Ask& ask) const {
  const auto spoken = std::ranges::find(spoken_, kind);
  const auto of_rest = [&](const auto& rest) {
    if (spoken_.size() + 1 == classes()) return ask(rest);
    return ask(Product(rest, part_of_rest(posterior_, kind)));
  };
  if (coupled_.empty()) {
    if (spoken_.empty() || spoken != spoken_.end()) return ask(beta_of(posterior_, kind));
    const Beta beta = beta_of(posterior_, spoken_.front());
    return of_rest(Beta{beta.b, beta.a});
  }
  if (spoken == spoken_.end()) return of_rest(coupled_.back());
  return ask(coupled_[static_cast<std::size_t>(spoken - spoken_.begin())]);
}

ShareEstimate ShareMarginals::estimate(std::size_t kind, double confidence) const {
  assert(kind < classes() && confidence > 0 && confidence < 1);
  if (classes() == 1) return {1, 0, {1, 1}};
  return ask(kind, [&](const auto& share) { return estimate_of(share, confidence); });
}

double ShareMarginals::probability_at_most(std::size_t kind, double x) const {
  assert(kind < classes());
  if (classes() == 1) return x >= 1 ? 1 : 0;
  return ask(kind, [&](const auto& share) { return share.at_most(x); });
}

std::vector<ShareEstimate> share_estimates(const SharePosterior& posterior, double confidence) {
  const ShareMarginals marginals(posterior);
  std::vector<ShareEstimate> estimates;
  for (std::size_t i = 0; i < posterior.classes(); ++i)
    estimates.push_back(marginals.estimate(i, confidence));
  return estimates;
}

}  // namespace stonecall::estimate
