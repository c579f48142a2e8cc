#pragma once

#include <string>

#include "console/charts/measure.hpp"

namespace stonecall::charts {

/// A label in fine type cut with an ellipsis to fit; empty where not even three letters would.
inline std::string cut_to_fit(const std::string& text, double room, const Measure& measure) {
  auto width = [&](const std::string& s) {
    return measure(s, TextSize::fine, TextWeight::regular);
  };
  if (width(text) <= room) return text;
  std::string cut = text;
  while (!cut.empty()) {
    // Whole UTF-8 sequences only.
    do cut.pop_back();
    while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xC0) == 0x80);
    if (!cut.empty() && static_cast<unsigned char>(cut.back()) >= 0xC0) cut.pop_back();
    if (width(cut + "…") <= room) break;
  }
  return cut.size() < 3 ? std::string{} : cut + "…";
}

}  // namespace stonecall::charts
