#include "console/debrief/simulate.hpp"

#include <algorithm>
#include <numeric>

namespace stonecall::debrief {
namespace {

constexpr int rocks_in_a_patch = 10;
constexpr int rocks_in_a_look = 10;

std::vector<double> patch_shares(const TrueGround& ground, std::size_t station,
                                 Generator& generator) {
  const auto& shares = ground.stations[station].shares;
  if (ground.patchiness <= 0) return shares;
  // A Dirichlet-multinomial of correlation ρ has Σ alpha = 1/ρ − 1.
  std::vector<double> alpha = shares;
  for (double& a : alpha) a = std::max(a * (1 / ground.patchiness - 1), 1e-6);
  return dirichlet(alpha, generator);
}

std::size_t pick(std::span<const double> shares, Generator& generator) {
  return std::discrete_distribution<std::size_t>(shares.begin(), shares.end())(generator);
}

double exponential(double mean, Generator& generator) {
  return std::exponential_distribution<double>(1 / mean)(generator);
}

}  // namespace

std::vector<double> dirichlet(std::span<const double> alpha, Generator& generator) {
  std::vector<double> shares;
  for (const double a : alpha) shares.push_back(std::gamma_distribution<double>(a, 1)(generator));
  const double sum = std::accumulate(shares.begin(), shares.end(), 0.0);
  if (sum > 0)
    for (double& share : shares) share /= sum;
  else
    shares.front() = 1;
  return shares;
}

std::vector<std::int64_t> look(const TrueGround& ground, std::size_t station, int rocks,
                               Generator& generator) {
  const auto shares = patch_shares(ground, station, generator);
  std::vector<std::int64_t> counts(shares.size(), 0);
  for (int i = 0; i < rocks; ++i) ++counts[pick(shares, generator)];
  return counts;
}

estimate::SpokenShare speak(const TrueGround& ground, std::size_t station, std::size_t kind,
                            std::size_t caller, const TrueCaller& truth, Generator& generator) {
  const double share = ground.stations[station].shares[kind];
  const double said = std::clamp(
      share + std::normal_distribution<double>(truth.bias, truth.spread)(generator), 0.0, 1.0);
  return {kind, std::max(0.0, said - 0.05), std::min(1.0, said + 0.05), said, caller, 0, 0.10};
}

Party::Party(const TrueGround& ground, Habits habits, std::vector<int> wanted, std::uint64_t seed)
    : ground_(ground),
      habits_(std::move(habits)),
      wanted_(std::move(wanted)),
      bagged_(wanted_.size(), 0),
      heard_(ground.stations.size()),
      generator_(seed) {
  for (Heard& heard : heard_) heard.chosen.assign(wanted_.size(), 0);
  to_look_ = exponential(habits_.minutes_to_a_look, generator_) / 2;
  to_share_ = exponential(habits_.minutes_to_a_share, generator_);
}

double Party::work(std::size_t station, double minutes, double must_leave_in) {
  Heard& heard = heard_[station];
  if (patch_station_ != station) rocks_left_in_patch_ = 0;
  patch_station_ = station;
  double now = 0;
  const auto pass = [&](double time) {
    now += time;
    to_look_ -= time;
    to_share_ -= time;
    since_sample_ += time;
    worked_ += time;
  };
  while (now < minutes) {
    if (to_look_ <= 0) {
      heard.looks.push_back(look(ground_, station, rocks_in_a_look, generator_));
      pass(habits_.look_minutes);
      tell_({.what = Happening::What::look,
             .minute = worked_,
             .station = station,
             .counts = &heard.looks.back()});
      to_look_ = exponential(habits_.minutes_to_a_look, generator_);
      continue;
    }
    if (to_share_ <= 0) {
      // People speak of what they see: a kind comes up as often as it is common.
      const std::size_t kind = pick(ground_.stations[station].shares, generator_);
      const auto caller =
          std::uniform_int_distribution<std::size_t>(0, habits_.callers.size() - 1)(generator_);
      heard.shares.push_back(
          speak(ground_, station, kind, caller, habits_.callers[caller], generator_));
      to_share_ = exponential(habits_.minutes_to_a_share, generator_);
      tell_({.what = Happening::What::share,
             .minute = worked_,
             .station = station,
             .kind = kind,
             .share = &heard.shares.back()});
      continue;
    }
    const double wait = exponential(1 / habits_.looks_per_minute, generator_);
    if (now + wait >= minutes) {
      heard.looking_minutes += std::max(0.0, minutes - now);
      pass(std::max(0.0, minutes - now));
      break;
    }
    pass(wait);
    heard.looking_minutes += wait;
    ++heard.rocks_looked_at;
    if (rocks_left_in_patch_-- <= 0) {
      patch_ = patch_shares(ground_, station, generator_);
      rocks_left_in_patch_ = rocks_in_a_patch - 1;
    }
    const std::size_t kind = pick(patch_, generator_);
    const double handling =
        habits_.handling_minutes * std::uniform_real_distribution<double>(0.5, 1.5)(generator_);
    if (bagged_[kind] >= wanted_[kind] || now + handling > must_leave_in) continue;
    ++bagged_[kind];
    ++heard.chosen[kind];
    ++heard.samples;
    heard.handling_minutes += handling;
    const double begun = worked_;
    pass(handling);
    tell_({.what = Happening::What::sample,
           .minute = worked_,
           .station = station,
           .kind = kind,
           .begun = begun});
    since_sample_ = 0;
  }
  return now;
}

}  // namespace stonecall::debrief
