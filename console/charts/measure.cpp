#include "console/charts/measure.hpp"

namespace stonecall::charts {
namespace {

// Parts of the em, read off the face's metrics and rounded.
double em_part(unsigned char c) {
  constexpr std::string_view thin = "ijl.,:;'|!I", narrow = "frt()[]-/ ", wide = "mwMW@%";
  if (thin.find(static_cast<char>(c)) != std::string_view::npos) return 0.28;
  if (narrow.find(static_cast<char>(c)) != std::string_view::npos) return 0.37;
  if (wide.find(static_cast<char>(c)) != std::string_view::npos) return 0.88;
  if (c >= 'A' && c <= 'Z') return 0.70;
  if (c >= '0' && c <= '9') return 0.62;
  return 0.58;
}

}  // namespace

double estimated_width(std::string_view text, TextSize size, TextWeight weight) {
  double em = 0;
  for (char each : text) {
    auto c = static_cast<unsigned char>(each);
    if ((c & 0xC0) == 0x80) continue;  // inside a UTF-8 sequence
    em += em_part(c);
  }
  double heavier = weight == TextWeight::regular ? 1.0 : weight == TextWeight::medium ? 1.02 : 1.05;
  return em * pixels(size) * heavier;
}

Box area_of(const Label& label, const Measure& measure) {
  double w = measure(label.text, label.size, label.weight);
  double em = pixels(label.size);
  double x = label.at.x;
  if (label.anchor == Anchor::middle) x -= w / 2;
  if (label.anchor == Anchor::end) x -= w;
  return {x, label.at.y - 0.8 * em, w, em};
}

}  // namespace stonecall::charts
