#include "console/charts/palette.hpp"

#include <fmt/format.h>

namespace stonecall::charts {

const Palette& print_palette() {
  static const Palette palette{
      .tones{0xFFFFFF,   // ground
             0xF4EFE3,   // panel
             0x1E252D,   // ink
             0x5E6063,   // soft
             0xD2C9B6,   // hairline
             0xE9E4D8,   // grid
             0xBDB194,   // edge
             0xE9DFC8,   // band
             0x8B8267,   // done
             0xAE3D1B,   // alert
             0xF0D9CE,   // alert_soft
             0x0A659E},  // link
      .series{0x0072B2, 0xD55E00, 0x1E252D, 0xE69F00, 0xCC79A7, 0x009E73, 0x56B4E9, 0xF0E442},
      .series_edge{0x0072B2, 0xD55E00, 0x1E252D, 0xB27C08, 0xBF70A0, 0x009E73, 0x3F92C4, 0x928A2C}};
  return palette;
}

std::string hex(std::uint32_t rgb) {
  return fmt::format("#{:06x}", rgb & 0xFFFFFF);
}

}  // namespace stonecall::charts
