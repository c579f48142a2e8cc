#pragma once

#include <chrono>
#include <cstddef>
#include <ostream>
#include <string_view>

namespace stonecall::commands {

/// Words about what takes long, at most one a second; nothing is said of what is done at once.
class Waiting {
 public:
  explicit Waiting(std::ostream& err) : err_(err) {}

  void at(std::string_view doing, std::size_t done, std::size_t of) {
    const auto now = std::chrono::steady_clock::now();
    if (now - last_ < std::chrono::seconds(1)) return;
    last_ = now;
    err_ << "stonecall: " << doing << ", " << (of > 0 ? 100 * done / of : 0) << " %" << std::endl;
  }

 private:
  std::ostream& err_;
  std::chrono::steady_clock::time_point last_ = std::chrono::steady_clock::now();
};

}  // namespace stonecall::commands
