#pragma once

#include <random>
#include <vector>

#include "console/advise/allocation.hpp"

/// Made-up kinds, draws and journeys of any size, for tests and benchmarks.
namespace stonecall::advise {

struct MadeUp {
  std::vector<Wanted> kinds;
  std::vector<Draw> draws;
  Journey journey;
};

inline std::vector<double> dirichlet(const std::vector<double>& alpha, std::mt19937_64& random) {
  std::vector<double> shares;
  double sum = 0;
  for (const double a : alpha) {
    shares.push_back(std::gamma_distribution<double>(a, 1)(random));
    sum += shares.back();
  }
  for (double& share : shares)
    share = sum > 0 ? share / sum : 1.0 / static_cast<double>(shares.size());
  return shares;
}

/// A walk of `leg` minutes from stop to stop, and straight back from each.
inline Journey line_journey(std::size_t stations, double leg, double minutes_left) {
  Journey journey;
  journey.minutes_left = minutes_left;
  journey.base_from_here = leg;
  for (std::size_t i = 0; i < stations; ++i) {
    StationAhead station{
        leg * static_cast<double>(i + 1), {}, leg * (1 + 0.5 * static_cast<double>(i))};
    for (std::size_t j = 0; j < i; ++j)
      station.from_earlier.push_back(leg * static_cast<double>(i - j));
    journey.ahead.push_back(station);
  }
  return journey;
}

/// Kinds with wants of one to four, stations of different ground, posteriors worth about twenty
/// rocks.
inline MadeUp made_up(std::size_t kinds, std::size_t draws, std::size_t stations,
                      double minutes_left, std::mt19937_64& random) {
  MadeUp made;
  std::uniform_real_distribution<double> uniform;
  for (std::size_t k = 0; k < kinds; ++k)
    made.kinds.push_back({0.5 + uniform(random), 1 + static_cast<int>(4 * uniform(random)), 0.5,
                          uniform(random) < 0.3 ? 1 : 0});
  std::vector<std::vector<double>> alphas;
  for (std::size_t s = 0; s <= stations; ++s) {
    auto alpha = dirichlet(std::vector<double>(kinds, 0.3), random);
    for (double& a : alpha) a = 0.2 + 20 * a;
    alphas.push_back(alpha);
  }
  for (std::size_t d = 0; d < draws; ++d) {
    Draw draw;
    draw.here = dirichlet(alphas[0], random);
    for (std::size_t s = 1; s <= stations; ++s) draw.ahead.push_back(dirichlet(alphas[s], random));
    draw.looks_per_minute = std::gamma_distribution<double>(20, 2.0 / 20)(random);
    draw.handling_minutes = std::gamma_distribution<double>(20, 4.0 / 20)(random);
    made.draws.push_back(std::move(draw));
  }
  made.journey = line_journey(stations, 4, minutes_left);
  return made;
}

}  // namespace stonecall::advise
