#include "server/log_check.hpp"

#include <array>
#include <cstdint>
#include <fstream>
#include <optional>
#include <span>
#include <vector>

#include <boost/endian/conversion.hpp>

namespace stonecall::server {
namespace {

using Bytes = std::span<const unsigned char>;

constexpr std::size_t header_bytes = 32;
constexpr std::size_t frame_header_bytes = 24;
constexpr std::uint32_t usual_page_bytes = 4'096;
constexpr std::uint32_t magic = 0x377f0682;  // its last bit: the byte order of the checksums

std::uint32_t number(Bytes bytes, std::size_t at) {
  return boost::endian::load_big_u32(bytes.data() + at);
}

struct Checksum {
  std::uint32_t first = 0;
  std::uint32_t second = 0;
  bool operator==(const Checksum&) const = default;
};

Checksum checksum_in(Bytes bytes, std::size_t at) {
  return {number(bytes, at), number(bytes, at + 4)};
}

/// The checksum goes on from one part to the next.
Checksum add(Checksum sum, Bytes bytes, bool big_endian) {
  const auto word = [&](std::size_t at) {
    return big_endian ? boost::endian::load_big_u32(bytes.data() + at)
                      : boost::endian::load_little_u32(bytes.data() + at);
  };
  for (std::size_t at = 0; at + 8 <= bytes.size(); at += 8) {
    sum.first += word(at) + sum.second;
    sum.second += word(at + 4) + sum.first;
  }
  return sum;
}

bool read(std::ifstream& in, std::span<unsigned char> into) {
  in.read(reinterpret_cast<char*>(into.data()), static_cast<std::streamsize>(into.size()));
  return in.gcount() == static_cast<std::streamsize>(into.size());
}

}  // namespace

LogCheck check_log(const std::filesystem::path& log) {
  LogCheck check;
  std::ifstream in(log, std::ios::binary);
  std::array<unsigned char, header_bytes> header;
  if (!read(in, header)) return check;
  const bool big_endian = (number(header, 0) & 1) != 0;
  Checksum sum = add({}, Bytes(header).first(24), big_endian);
  const bool known = (number(header, 0) & ~1U) == magic;
  std::uint32_t page_bytes = number(header, 8);
  const bool sound_size =
      page_bytes >= 512 && page_bytes <= 65'536 && (page_bytes & (page_bytes - 1)) == 0;
  if (!known && !sound_size) return check;  // no log, or nothing left to tell it by
  if (!sound_size) page_bytes = usual_page_bytes;
  bool whole = known && sum == checksum_in(header, 24);

  std::vector<unsigned char> frame(frame_header_bytes + page_bytes);
  // Frames of an earlier round of the log carry other salts. Of a damaged header they are unknown.
  std::optional<Checksum> salt;
  if (whole) salt = checksum_in(header, 16);
  while (read(in, frame)) {
    const Checksum frame_salt = checksum_in(frame, 8);
    if (!salt) salt = frame_salt;
    if (frame_salt != *salt) {
      whole = false;
      continue;
    }
    if (whole) {
      sum = add(sum, Bytes(frame).first(8), big_endian);
      sum = add(sum, Bytes(frame).subspan(frame_header_bytes), big_endian);
      whole = sum == checksum_in(frame, 16);
    }
    if (number(frame, 4) != 0) ++(whole ? check.commits : check.passed_over);
  }
  return check;
}

}  // namespace stonecall::server
