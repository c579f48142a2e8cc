#include "console/estimate/disagreement.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

#include <boost/math/quadrature/gauss.hpp>
#include <boost/math/special_functions/beta.hpp>
#include <boost/math/tools/toms748_solve.hpp>

namespace stonecall::estimate {
namespace {

namespace bm = boost::math;
using Doubles = bm::policies::policy<bm::policies::promote_double<false>>;

double figure_of(const SpokenShare& share) {
  return share.best.value_or((share.low + share.high) / 2);
}

// A Beta share seen through normal scatter; the share enters at Gauss-Legendre points of its own
// probability.
class Scattered {
 public:
  Scattered(double a, double b, double shift, double sigma) : sigma_(sigma) {
    using Rule = bm::quadrature::gauss<double, 20>;
    for (std::size_t i = 0; i < Rule::abscissa().size(); ++i) {
      for (const double side : {-1.0, 1.0}) {
        const double u = (1 + side * Rule::abscissa()[i]) / 2;
        centres_.push_back(bm::ibeta_inv(a, b, u, Doubles()) + shift);
        weights_.push_back(Rule::weights()[i] / 2);
      }
    }
  }

  double at_most(double x) const {
    double probability = 0;
    for (std::size_t i = 0; i < centres_.size(); ++i) {
      probability += weights_[i] * std::erfc((centres_[i] - x) / (sigma_ * std::sqrt(2.0))) / 2;
    }
    return probability;
  }

  double quantile(double probability) const {
    const auto [least, most] = std::minmax_element(centres_.begin(), centres_.end());
    std::uintmax_t steps = 60;
    const auto ends = bm::tools::toms748_solve([&](double x) { return at_most(x) - probability; },
                                               *least - 9 * sigma_, *most + 9 * sigma_,
                                               bm::tools::eps_tolerance<double>(30), steps);
    return (ends.first + ends.second) / 2;
  }

 private:
  std::vector<double> centres_;
  std::vector<double> weights_;
  double sigma_;
};

}  // namespace

ExpectedWord expected_word(std::int64_t met, std::int64_t counted, double design_effect,
                           const SpokenShare& caller, double confidence) {
  assert(0 <= met && met <= counted && design_effect >= 1 && confidence > 0 && confidence < 1);
  const double a = static_cast<double>(met) / design_effect + 0.5;
  const double b = static_cast<double>(counted - met) / design_effect + 0.5;
  const double sigma = std::hypot(caller.spread, (caller.high - caller.low) / (2 * 1.645));
  const Scattered words(a, b, caller.bias, sigma);
  const double tail = (1 - confidence) / 2;
  return {
      std::clamp(a / (a + b) + caller.bias, 0.0, 1.0),
      {std::clamp(words.quantile(tail), 0.0, 1.0), std::clamp(words.quantile(1 - tail), 0.0, 1.0)}};
}

std::vector<Disagreement> disagreements(const Evidence& evidence, double design_effect,
                                        double confidence) {
  std::vector<std::int64_t> met(evidence.classes, 0);
  std::int64_t counted = 0;
  for (const auto& look : evidence.looks) {
    for (std::size_t i = 0; i < look.size(); ++i) {
      met[i] += look[i];
      counted += look[i];
    }
  }
  std::vector<Disagreement> found;
  if (counted == 0) return found;
  for (std::size_t i = 0; i < evidence.shares.size(); ++i) {
    const auto& share = evidence.shares[i];
    const auto expected = expected_word(met[share.kind], counted, design_effect, share, confidence);
    const double said = figure_of(share);
    if (said >= expected.range.lower && said <= expected.range.upper) continue;
    found.push_back({i, said, met[share.kind], counted, expected});
  }
  return found;
}

}  // namespace stonecall::estimate
