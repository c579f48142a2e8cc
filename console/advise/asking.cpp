#include "console/advise/asking.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

namespace stonecall::advise {
namespace {

/// Departures are compared every so many minutes: information moves a decision by more than one.
std::vector<std::size_t> compared_columns(const GainTable& table, std::size_t best) {
  const std::size_t step = std::max<std::size_t>(1, table.departures / 40);
  std::vector<std::size_t> columns{best};
  for (std::size_t m = 0; m < table.departures; m += step)
    if (m != best) columns.push_back(m);
  return columns;
}

}  // namespace

WorthOfAsking worth_of_asking(const Departure& departure, std::span<const Draw> draws,
                              const TallyAsked& tally, std::mt19937_64& random) {
  WorthOfAsking result;
  const GainTable& table = departure.table;
  if (departure.late || table.draws == 0 || table.draws != draws.size() || tally.rocks <= 0 ||
      tally.simulations <= 0)
    return result;

  const auto best = static_cast<std::size_t>(departure.best - departure.earliest);
  const auto columns = compared_columns(table, best);
  const double answered = tally.acted_on_in_minutes - departure.earliest;
  const auto in_time = [&](std::size_t column) { return static_cast<double>(column) >= answered; };
  if (std::ranges::none_of(columns, in_time)) return result;
  const std::size_t kinds = draws[0].here.size();

  // Minutes spent on counting are minutes of looking lost: what the journey is worth with so much
  // less time.
  const double a_minute = columns.size() > 1 && !departure.crossing.empty()
                              ? std::max(0.0, departure.crossing[best].elsewhere.mean)
                              : 0.0;
  result.cost = a_minute * tally.minutes;

  std::vector<double> log_share(table.draws * kinds);
  for (std::size_t d = 0; d < table.draws; ++d)
    for (std::size_t k = 0; k < kinds; ++k)
      log_share[d * kinds + k] = std::log(std::max(draws[d].here[k], 1e-12));

  std::uniform_int_distribution<std::size_t> any_draw(0, table.draws - 1);
  std::vector<double> weight(table.draws);
  std::vector<double> mean(columns.size());
  for (int simulation = 0; simulation < tally.simulations; ++simulation) {
    const auto& truth = draws[any_draw(random)].here;
    // A draw without any rocks tells nothing when counted.
    const double all = std::accumulate(truth.begin(), truth.end(), 0.0);
    if (!(all > 0) || !std::isfinite(all)) continue;
    std::discrete_distribution<std::size_t> rock(truth.begin(), truth.end());
    std::vector<int> counts(kinds, 0);
    for (int i = 0; i < tally.rocks; ++i) ++counts[rock(random)];

    double highest = -1e300;
    for (std::size_t d = 0; d < table.draws; ++d) {
      double log_likelihood = 0;
      for (std::size_t k = 0; k < kinds; ++k)
        if (counts[k] > 0) log_likelihood += counts[k] * log_share[d * kinds + k];
      weight[d] = log_likelihood;
      highest = std::max(highest, log_likelihood);
    }
    double sum = 0;
    for (double& w : weight) sum += w = std::exp(w - highest);
    std::fill(mean.begin(), mean.end(), 0.0);
    for (std::size_t d = 0; d < table.draws; ++d) {
      const double part = weight[d] / sum;
      if (part < 1e-6) continue;
      const auto gains = table.of_draw(d);
      for (std::size_t c = 0; c < columns.size(); ++c) mean[c] += part * gains[columns[c]];
    }
    const auto chosen =
        static_cast<std::size_t>(std::max_element(mean.begin(), mean.end()) - mean.begin());
    double then = -std::numeric_limits<double>::infinity();
    for (std::size_t c = 0; c < columns.size(); ++c)
      if (in_time(columns[c])) then = std::max(then, mean[c]);
    result.gain += then - mean[0];
    const auto moved =
        static_cast<std::ptrdiff_t>(columns[chosen]) - static_cast<std::ptrdiff_t>(best);
    if (std::abs(moved) >= 5) result.p_changes += 1;
  }
  result.gain /= tally.simulations;
  result.p_changes /= tally.simulations;
  return result;
}

}  // namespace stonecall::advise
