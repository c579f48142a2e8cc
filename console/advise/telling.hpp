#pragma once

#include <functional>
#include <iosfwd>
#include <string>
#include <string_view>
#include <vector>

#include "protocol/time.hpp"

namespace stonecall::advise {

/// Words that name moments of the exercise. Each moment is kept beside the words, so that whoever
/// shows them writes it as his clock has it; left alone it is written elapsed, "1:19".
class Telling {
 public:
  Telling() = default;
  explicit Telling(std::string_view words) : elapsed_(words) {}
  Telling& operator=(std::string_view words) { return *this = Telling(words); }
  /// The moment alone.
  static Telling moment(protocol::Milliseconds elapsed);

  Telling& operator+=(const Telling& more);
  Telling& operator+=(std::string_view more);
  friend Telling operator+(Telling words, const Telling& more) { return words += more; }
  friend Telling operator+(Telling words, std::string_view more) { return words += more; }
  friend Telling operator+(std::string_view words, const Telling& more) {
    return Telling(words) += more;
  }

  /// With each moment as `write` writes it.
  std::string told(const std::function<std::string(protocol::Milliseconds)>& write) const;
  const std::string& elapsed() const { return elapsed_; }
  operator const std::string&() const { return elapsed_; }
  bool empty() const { return elapsed_.empty(); }

  bool operator==(const Telling&) const = default;
  friend bool operator==(const Telling& telling, std::string_view elapsed) {
    return telling.elapsed_ == elapsed;
  }

 private:
  struct Moment {
    std::size_t begin = 0, size = 0;  ///< bytes of the words
    protocol::Milliseconds elapsed{};
    bool operator==(const Moment&) const = default;
  };
  std::string elapsed_;
  std::vector<Moment> moments_;  ///< in their order
};

std::ostream& operator<<(std::ostream& out, const Telling& telling);

}  // namespace stonecall::advise
