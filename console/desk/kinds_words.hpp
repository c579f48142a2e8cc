#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "console/desk/canvas.hpp"

/// What is said of the kinds below their table: what the figures rest on, what is not seen yet,
/// what does not fit together.
namespace stonecall::desk {

enum class Said { whole, brief, not_at_all };

/// What is said, and at what length.
struct Below {
  Said rests = Said::whole, unseen = Said::whole, warned = Said::whole;
  bool operator==(const Below&) const = default;
};
/// From the fullest on. The first four say all that has to be said; the others only serve a place
/// where hardly a row had room beside them.
inline constexpr std::array ways_below{Below{Said::whole, Said::whole, Said::whole},
                                       Below{Said::whole, Said::brief, Said::whole},
                                       Below{Said::whole, Said::brief, Said::brief},
                                       Below{Said::brief, Said::brief, Said::brief},
                                       Below{Said::brief, Said::not_at_all, Said::brief},
                                       Below{Said::brief, Said::not_at_all, Said::not_at_all},
                                       Below{Said::not_at_all, Said::not_at_all, Said::not_at_all}};
inline constexpr std::size_t ways_that_say_all = 4;

/// The texts, laid out for the width of a canvas. Heights in screen pixels; `at_least` so many
/// lines of type, whatever the words are.
class KindsWords {
 public:
  /// All three outlive it.
  KindsWords(const Canvas& canvas, const advise::Ground& ground, const picture::Picture& picture);

  float rests_height(Said said, std::size_t at_least = 1) const;
  float unseen_height(Said said, std::size_t at_least = 1) const;
  float warned_height(Said said) const;
  float height(const Below& way) const;

  void draw_rests(Said said, Canvas& canvas, float top) const;
  /// With the curve of kinds met, where there is room for it above what is `warned` of.
  void draw_unseen(Said said, Said warned, Canvas& canvas, float top) const;
  /// At the lower edge.
  void draw_warned(Said said, Canvas& canvas) const;

 private:
  std::size_t lines_of(const std::string& text) const;
  float lines_height(std::size_t lines) const;

  const Canvas& canvas_;
  const advise::Ground& ground_;
  std::string rests_;
  std::vector<std::pair<Ink, std::string>> unseen_;
  std::vector<std::string> warned_;
  std::size_t warned_earlier_ = 0;  ///< how many are not told
  std::size_t rests_lines_ = 1, unseen_lines_ = 0, warned_lines_ = 0;
};

/// "Same ground as North Apron: P(same) 0.94", in words by how sure it is; "no basis" where there
/// is none. Empty where there is nothing to compare with.
std::string same_ground_text(const advise::Assessment& assessment);

}  // namespace stonecall::desk
