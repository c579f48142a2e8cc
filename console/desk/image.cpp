#include "console/desk/image.hpp"

#include <cassert>
#include <cerrno>
#include <cstring>

#include <png.h>

namespace stonecall::desk {

protocol::Result<void> write_png(const Image& image, const std::string& path) {
  assert(image.rgb.size() ==
         static_cast<std::size_t>(image.width) * static_cast<std::size_t>(image.height) * 3);
  png_image png{};
  png.version = PNG_IMAGE_VERSION;
  png.width = static_cast<png_uint_32>(image.width);
  png.height = static_cast<png_uint_32>(image.height);
  png.format = PNG_FORMAT_RGB;
  errno = 0;
  if (!png_image_write_to_file(&png, path.c_str(), 0, image.rgb.data(), 0, nullptr))
    return tl::unexpected(protocol::Fault{
        path, "cannot be written: " + std::string(errno ? std::strerror(errno) : png.message),
        std::nullopt});
  return {};
}

}  // namespace stonecall::desk
