#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "protocol/fault.hpp"

namespace stonecall::desk {

/// Pixels of the desk: rows from the top, three bytes a pixel (red, green, blue).
struct Image {
  int width = 0, height = 0;
  std::vector<std::uint8_t> rgb;
};

/// Writes a PNG (ISO/IEC 15948), 8 bits a channel. The fault says why it cannot.
protocol::Result<void> write_png(const Image& image, const std::string& path);

}  // namespace stonecall::desk
