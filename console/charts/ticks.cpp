#include "console/charts/ticks.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include <fmt/format.h>

namespace stonecall::charts {
namespace {

std::vector<double> multiples(double step, double low, double high) {
  std::vector<double> ticks;
  // A hair of tolerance, so that 0.3 counts as a multiple of 0.1.
  double first = std::ceil(low / step - 1e-9), last = std::floor(high / step + 1e-9);
  // Beyond 2^50 steps from nought a step is no longer told from its neighbour.
  if (!(std::abs(first) < 0x1p50 && std::abs(last) < 0x1p50)) return ticks;
  for (double i = first; i <= last; ++i) ticks.push_back(i == 0 ? 0.0 : i * step);
  return ticks;
}

bool usable(double low, double high, int most) {
  return std::isfinite(low) && std::isfinite(high) && low < high && std::isfinite(high - low) &&
         most >= 2;
}

}  // namespace

std::vector<double> nice_ticks(double low, double high, int most) {
  if (!usable(low, high, most)) return {};
  double step = nice_ceiling((high - low) / most);
  // Where rounding lets one more in than asked, the next step up has few enough.
  for (int i = 0; i < 3; ++i) {
    auto ticks = multiples(step, low, high);
    if (static_cast<int>(ticks.size()) <= most) return ticks;
    step = nice_ceiling(step * 1.5);
  }
  return {};
}

double nice_ceiling(double value) {
  if (!(value > 0) || !std::isfinite(value)) return 1;
  double power = std::pow(10, std::floor(std::log10(value)));
  if (power == 0) return value;  // below the smallest normal number
  double digit = value / power;
  for (double nice : {1.0, 2.0, 5.0, 10.0})
    if (digit <= nice * (1 + 1e-12)) return nice * power;
  return 10 * power;
}

std::vector<double> minute_ticks(double low, double high, int most) {
  if (!usable(low, high, most)) return {};
  constexpr std::array steps{1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0};
  for (double step : steps) {
    if ((high - low) / step > most + 1) continue;
    auto ticks = multiples(step, low, high);
    if (static_cast<int>(ticks.size()) <= most) return ticks;
  }
  auto hours = nice_ticks(low / 60, high / 60, most);
  for (double& tick : hours) tick *= 60;
  return hours;
}

std::string minute_text(double minutes) {
  if (!std::isfinite(minutes)) return "–";
  auto whole = static_cast<long>(std::llround(std::clamp(minutes, -1e9, 1e9)));
  long size = std::labs(whole);
  return fmt::format("{}{}:{:02}", whole < 0 ? "−" : "", size / 60, size % 60);
}

std::string number_text(double value, double step) {
  if (!std::isfinite(value)) return "–";
  if (value == 0) return "0";
  if (std::abs(value) >= 1e7) return fmt::format("{:.1e}", value);
  int digits = step > 0 && step < 1
                   ? std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 12)
                   : 0;
  std::string text = fmt::format("{:.{}f}", value, digits);
  if (text.front() == '-') text.replace(0, 1, "−");
  return text;
}

}  // namespace stonecall::charts
