#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "console/charts/chart.hpp"

namespace stonecall::charts {

/// Colours of a painted chart, 0xRRGGBB.
struct Palette {
  std::array<std::uint32_t, static_cast<std::size_t>(Tone::count_)> tones{};
  std::array<std::uint32_t, 8> series{};
  std::array<std::uint32_t, 8> series_edge{};  ///< the same hues, 3:1 or more on the paper

  std::uint32_t operator[](Tone tone) const { return tones[static_cast<std::size_t>(tone)]; }
  std::uint32_t of(Colour colour) const {
    return colour.series ? series_edge[*colour.series % series_edge.size()] : (*this)[colour.tone];
  }
};

/// Ink on white paper, for the report. Series are those of Okabe & Ito, "Color Universal Design"
/// (2002, revised 2008), in the desk's order.
const Palette& print_palette();

std::string hex(std::uint32_t rgb);  ///< "#0072b2"

}  // namespace stonecall::charts
